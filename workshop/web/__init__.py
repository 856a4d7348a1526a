"""What all pages share: access guards, the base table, small page helpers."""
