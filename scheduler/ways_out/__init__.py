"""How calendars reach their readers: a folder, secret addresses, a small server, a push."""
