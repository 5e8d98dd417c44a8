"""One file a kind of knowledge: `check(shelf)` gives every Fault found. Files here are run by knowledge.library."""
