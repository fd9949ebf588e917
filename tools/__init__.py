"""Small tools for working on Trayward; nothing here is shipped."""
