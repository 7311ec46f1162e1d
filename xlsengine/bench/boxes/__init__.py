"""A box of motors of one model against its label."""
