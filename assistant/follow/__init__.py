"""Station 5, what only the talk so far makes clear: begin at turns.py; each other file knows one way to go on."""
