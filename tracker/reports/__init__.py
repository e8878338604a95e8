"""From the book's answers to pages and JSON. Writes no table; imports rich only inside functions."""
