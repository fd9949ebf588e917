"""Buying seed and supplies again: how much is used, how long what is there lasts, which packs to order, and by when."""
