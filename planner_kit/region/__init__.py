"""The region stage."""
