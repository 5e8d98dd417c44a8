"""The nurse line's desk: many homes behind a login. Begins at command.py and app.py."""
