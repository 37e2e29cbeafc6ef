"""The diary stage."""
