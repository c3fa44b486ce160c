"""The addresses under which this computer is reached from the shop's network."""

import contextlib
import ipaddress
import socket


def own_names() -> list[str]:
    """IPv4 addresses of this computer, the one towards the router first, then its name; never the loopback."""
    found: list[str] = []
    with contextlib.suppress(OSError), socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        # Connecting a datagram socket sends nothing; it only asks which way packets would leave.
        probe.connect(("192.0.2.1", 9))
        found.append(probe.getsockname()[0])
    name = socket.gethostname()
    with contextlib.suppress(OSError):
        found += [str(entry[4][0]) for entry in socket.getaddrinfo(name, None, socket.AF_INET)]
    addresses = [address for address in dict.fromkeys(found) if not ipaddress.ip_address(address).is_loopback]
    return [*addresses, name.lower()] if name and name != "localhost" else addresses
