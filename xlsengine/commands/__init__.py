"""The commands: they ask for an outcome and print it."""
