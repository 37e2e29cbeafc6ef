"""The sites stage."""
