"""What people read: the page, the tickets, and what each finding means."""
