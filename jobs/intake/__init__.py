"""Takes an enquiry; gives a client, an instrument with its own compass, and the owner's aim."""
