"""What a message is about: words, spelling, concepts, and the frozen table of weights."""
