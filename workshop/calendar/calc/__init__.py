"""Working-time arithmetic: plain dates and times in, plain dates and times out."""
