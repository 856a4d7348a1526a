"""Benches, floor places and the spray room, and how many instruments or tasks each can hold."""
