"""The pack stage."""
