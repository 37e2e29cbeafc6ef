"""The trip stage."""
