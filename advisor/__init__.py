"""Sumpside: an assistant for people who keep machine-tool coolant in condition."""

# A constant, so that `--version` imports nothing (importlib.metadata costs 35 to 70 ms).
__version__ = "0.1.0"
