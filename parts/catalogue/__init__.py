"""Parts, suppliers, prices and what lies on the shelf."""
