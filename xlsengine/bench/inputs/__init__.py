"""What a person types: forms, tables, settings, and what a bench test is."""
