"""Running the shop's server day after day: backups, checks, what is counted and written down."""
