"""Station 5, which question is asked: question.py decides in order, likeliest.py ranks."""
