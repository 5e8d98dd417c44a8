"""Station 8's parts: facts shown, spoken and filled into sentences; questions back (word.py puts them together)."""
