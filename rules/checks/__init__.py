"""One small module per family of checks, found by being here."""
