"""The demo shop, shown."""
