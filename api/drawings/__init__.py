"""Drawings of a kit on a car: SVG made from the geometry and the numbers of the checks."""
