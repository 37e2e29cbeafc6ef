"""The tow stage."""
