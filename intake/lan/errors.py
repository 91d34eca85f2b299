"""What whoever starts the server can mend, in one sentence or two."""


class LanError(Exception):
    """Serving on the shop's network is not possible as things are."""


class AddressError(LanError):
    """No address, or several, or one that is not this machine's."""


class AuthorityError(LanError):
    """The certificate authority's folder cannot be trusted or used."""


class OriginChangedError(LanError):
    """The address that phones know is no longer the one that would be served."""
