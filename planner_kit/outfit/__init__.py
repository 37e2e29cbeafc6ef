"""The outfit stage."""
