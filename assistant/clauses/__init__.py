"""Station 5, which words ask: a message parted into its asks, and what is only told beside them (asks.py)."""
