"""What is due on a given day, from the rows: pure rules, one function each."""
