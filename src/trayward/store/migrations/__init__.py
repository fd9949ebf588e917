"""Every schema a book ever had, one revision after the other. A revision that was released is never edited."""
