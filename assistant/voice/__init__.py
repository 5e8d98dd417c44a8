"""Hearing and speaking: recorded sound -> words (two recognisers), words -> a doubt or an answer, answer -> speech.

Needs the extra `voice`; what is missing is a `Missing` with one line on how to get it. Channels open it, the session
below it answers.
"""
