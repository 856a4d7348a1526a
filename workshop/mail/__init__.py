"""Outgoing mail: a row first, SMTP after. Nothing lost silently, nothing sent twice, doubt is shown to a person."""
