"""Danger heard by rules: signs are concepts with wide vocabularies, combined by rules that nothing can outvote."""
