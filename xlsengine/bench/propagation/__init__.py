"""How changes and shares of an error go through an expression."""
