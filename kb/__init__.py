"""What is known: units, the catalogue language, reading, baselines, the graph."""
