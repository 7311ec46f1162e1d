"""Motor and propeller from readings."""
