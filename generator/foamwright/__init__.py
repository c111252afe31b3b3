"""Foamwright: from a prop described in one YAML file to a printable foam template pack."""

__version__ = "0.1.0"
