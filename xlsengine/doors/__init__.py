"""Doors to the jobs for people who never open a terminal."""
