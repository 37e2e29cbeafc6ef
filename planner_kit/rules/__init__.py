"""The rules stage."""
