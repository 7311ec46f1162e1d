"""The guide with pictures: for who tests, for who was sent a workbook, for groups, and for who writes Python."""
