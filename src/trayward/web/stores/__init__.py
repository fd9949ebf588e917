"""Stores: seed and how far it reaches, mats and trays, and what is in the wash."""
