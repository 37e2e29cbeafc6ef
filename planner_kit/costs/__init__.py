"""The costs stage."""
