"""A counter phone on the shop's own network: address, certificate authority, QR code."""
