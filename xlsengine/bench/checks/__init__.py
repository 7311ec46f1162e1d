"""What is judged of a reading against the model, and what becomes of the judgements."""
