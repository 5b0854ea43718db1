"""This machine's place on the local network."""

from __future__ import annotations

import ipaddress
import socket

from lodestring.errors import LodestringError

NOWHERE = "192.0.2.1"
"""Kept for documentation (RFC 5737): a socket that is pointed at it sends nothing, and tells which of our own
addresses would have been the way out."""


def lan_address() -> str:
    """The private IPv4 address that other devices reach this machine at. Raises LodestringError where there is none.

    An address that all the world reaches is refused: sharing is meant for one's own network.
    """
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as asking:
        try:
            asking.connect((NOWHERE, 9))
            found = ipaddress.ip_address(asking.getsockname()[0])
        except (OSError, ValueError):
            found = ipaddress.ip_address("127.0.0.1")
    return checked(str(found))


def checked(address: str) -> str:
    """The address if it is one of a private network. Raises LodestringError otherwise."""
    try:
        found = ipaddress.IPv4Address(address)
    except ValueError:
        raise LodestringError(
            "an address of this machine is four numbers", f'"{address[:40]}"', "192.168.1.20"
        ) from None
    if found.is_loopback or found.is_unspecified:
        raise LodestringError(
            "sharing needs a local network", "a machine that is on none", "joining the Wi-Fi that the phone is on"
        )
    if not found.is_private:
        raise LodestringError(
            "sharing is for a private network",
            f"{found}, an address that all the world can reach",
            "a Wi-Fi of your own behind a router",
        )
    return str(found)


def listen_on(address: str, port: int) -> socket.socket:
    """A listening socket at that address and port. Raises LodestringError where it is taken or not ours."""
    made = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    try:
        if hasattr(socket, "SO_EXCLUSIVEADDRUSE"):
            made.setsockopt(socket.SOL_SOCKET, socket.SO_EXCLUSIVEADDRUSE, 1)
        else:
            made.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        made.bind((address, port))
        made.listen(64)
    except OSError as error:
        made.close()
        raise LodestringError(
            f"port {port} at {address} must be free for sharing",
            f"{error.strerror or error}",
            "another port with --port",
        ) from None
    return made
