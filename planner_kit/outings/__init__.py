"""The outings stage."""
