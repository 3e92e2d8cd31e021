"""The season as words, tables and subscribed calendars."""
