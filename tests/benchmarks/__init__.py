"""How fast, how big and how exact: measured and printed, never asserted.  ``python -m tests.benchmarks``."""
