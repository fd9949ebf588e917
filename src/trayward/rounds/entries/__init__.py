"""What any entry of the book says, in plain words; a module for each subject of the book."""
