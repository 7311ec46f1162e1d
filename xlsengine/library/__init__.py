"""Earlier tests: the store that holds them, and what it keeps of each."""
