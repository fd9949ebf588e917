"""Sensors on the pages: how each stands, its picture, its alarms; and the watch that is kept over them."""
