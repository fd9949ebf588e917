"""Orders out of the spreadsheets people have: read, mapped, checked row by row."""
