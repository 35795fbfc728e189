"""The page to measure, tune and set up on, served to this machine alone."""
