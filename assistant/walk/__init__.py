"""Walk-throughs: which is meant, its steps with this person's numbers, and practice of it (guides.py)."""
