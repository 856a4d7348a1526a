"""Takes real events; gives drafts a manager edits and releases to the client."""
