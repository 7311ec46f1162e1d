"""What the instruments may be off by, and how changes and shares of an error go through an expression."""
