"""What is asked for: lines by day with their chances, orders that repeat, customers, and spreadsheets taken in."""
