"""Flat patterns taken from the solids of the model."""
