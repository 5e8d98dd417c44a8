"""Station 5, what was done: acts told with their times and amounts, for the log (acts.py, then acts_fit.py)."""
