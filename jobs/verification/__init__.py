"""Takes the final readings; gives the proof beside the first readings and the agreed targets."""
