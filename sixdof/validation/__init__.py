"""Published values, and what this model makes of them: `sixdof validate`, and the loops of ``tests/published``."""
