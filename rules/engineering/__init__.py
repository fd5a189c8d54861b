"""Engineering functions: numbers in, numbers out, each with its units, range and source."""
