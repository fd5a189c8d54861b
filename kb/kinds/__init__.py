"""One small module per family of parts: the dimensions of its kinds and the facts they meet.

A module is found by being here. The checks its kinds take part in live in `rules.checks`.
"""
