"""The book on a disk: SQLite by default, PostgreSQL by URL."""

from trayward.store.book import SqlBook
from trayward.store.opening import open_book

__all__ = ["SqlBook", "open_book"]
