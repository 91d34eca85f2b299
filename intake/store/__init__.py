"""What the shop keeps: one SQLite file and a folder of photos."""
