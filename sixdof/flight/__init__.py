"""Blends, maneuver scripts, the scripted pilot, the one stepping loop, trim and linear modes."""
