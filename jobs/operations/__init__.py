"""The catalogue of work with its norms; closes a chosen scope under what it implies and puts it in order."""
