"""Drills: a hidden fault in a simulated sump, found by asking, scored and talked over."""
