"""Trouble on trays: signs, likely causes, what to do; saying what is seen and clearing what was held back."""
