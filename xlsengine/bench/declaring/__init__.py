"""What a field, a quantity, a table and a form are."""
