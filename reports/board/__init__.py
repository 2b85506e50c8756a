"""What is in hand, as one page for the browser."""
