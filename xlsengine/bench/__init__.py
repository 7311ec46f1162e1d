"""What a bench test is and its physics: declarations and pure functions; knows no workbook."""
