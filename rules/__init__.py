"""What follows from what is known: checks, the package problem, explanations."""
