"""What is judged of a reading alone, and what counts."""
