"""Reading a person's line: words, numbers, scope of denials and doubts, and what they say about the sump."""
