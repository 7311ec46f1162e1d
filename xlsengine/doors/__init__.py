"""Doors for people who never open a terminal."""
