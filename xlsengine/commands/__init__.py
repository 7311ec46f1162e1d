"""The commands, one file each; they ask for an outcome and print it."""
