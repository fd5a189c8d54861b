"""How it is asked: command line, JSON API."""
