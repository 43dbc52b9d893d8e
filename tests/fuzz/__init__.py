"""Files as strangers and slips make them: mutated by hand's errors and by malice, given to everything that reads."""
