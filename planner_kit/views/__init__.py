"""The views stage."""
