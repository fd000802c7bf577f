"""What the words in rooms say: names, numbers, ceiling heights."""
