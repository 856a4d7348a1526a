"""Takes findings and scopes; gives a quote that is frozen when sent and accepted once."""
