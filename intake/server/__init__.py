"""The server: HTTP and TLS by uvicorn, on this machine or on the shop's network."""
