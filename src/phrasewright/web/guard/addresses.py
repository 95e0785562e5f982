"""The addresses of this computer on its network, for people to open."""

from __future__ import annotations

import contextlib
import ipaddress
import socket


def addresses() -> tuple[str, ...]:
    """IPv4 addresses by which other computers reach this one, the likeliest first. Nothing is sent."""
    found: list[str] = []
    with contextlib.suppress(OSError), socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        probe.connect(("192.0.2.1", 9))  # an address for documents (RFC 5737): asks which way would be taken
        found.append(probe.getsockname()[0])
    with contextlib.suppress(OSError):
        found += [str(entry[4][0]) for entry in socket.getaddrinfo(socket.gethostname(), None, socket.AF_INET)]
    return tuple(dict.fromkeys(one for one in found if not ipaddress.ip_address(one).is_loopback))


def names() -> tuple[str, ...]:
    """The names of this computer on a local network."""
    name = socket.gethostname().lower()
    return (name, f"{name.partition('.')[0]}.local") if name else ()
