"""The letterhead and styles that every PDF paper shares."""
