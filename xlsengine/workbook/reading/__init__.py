"""Reading workbooks of people and of other programs: nothing is guessed, nothing is lost in silence."""
