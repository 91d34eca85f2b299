"""What all screens share: identity, access control, idempotency, errors, headers, static files."""
