"""This motor against others of its class."""
