"""Everything a shop keeps: one SQLite file through sqlite-utils, beside folders of photos and PDFs."""
