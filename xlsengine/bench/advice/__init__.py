"""In flight, ESC, craft, and the sentences that say it."""
