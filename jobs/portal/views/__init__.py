"""The client's pages: the letter, answers, papers; and the manager's links."""
