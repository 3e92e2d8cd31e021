"""The season as calendars: events, their bytes (RFC 5545), and the memory of revisions."""
