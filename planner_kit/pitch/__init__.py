"""The pitch stage."""
