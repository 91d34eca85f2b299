"""Mail: settings, letters, the sender and its SMTP."""
