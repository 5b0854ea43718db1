"""Other devices of the workshop: how a phone is let in, what it may do, and how it is shut out again.

A phone enters by an invitation: a path of 128 bits that is good once, for five minutes, and is shown as a QR code. Who
guesses is counted: five wrong tries a minute, twenty in all, then sharing closes until the next start. All of it lives
in memory and ends with the server. A device's own word travels in the clear on the local network, as everything there
does; so the maker's word, which opens everything, is taken on this machine's own address alone.
"""

from __future__ import annotations

import hmac
import secrets
import threading
import time
from collections import deque
from collections.abc import Callable
from dataclasses import dataclass, replace

INVITED_SECONDS = 300.0
TRIES_A_MINUTE = 5
TRIES_IN_ALL = 20
MOST = 8
"""Devices at once: a workshop has fewer, and each costs a connection."""
NAME_LENGTH = 40
COOKIE = "lodestring-device-{port}"


@dataclass(frozen=True, slots=True)
class Device:
    """One device that was let in. `design`: may change sets too. `seen`: seconds since it last asked for something."""

    id: str
    name: str
    design: bool
    seen: float


@dataclass(frozen=True, slots=True)
class Invitation:
    """A path that lets one device in, and the seconds it is good for yet."""

    path: str
    seconds: float


class Devices:
    """All devices of one start. `clock`: seconds, rising. Safe to call from any thread."""

    def __init__(self, clock: Callable[[], float] = time.monotonic) -> None:
        self._clock = clock
        self._lock = threading.Lock()
        self._word = ""
        self._until = 0.0
        self._wrong: deque[float] = deque()
        self._wrong_in_all = 0
        self._in: dict[str, tuple[str, Device, float]] = {}

    @property
    def closed(self) -> bool:
        """Whether too many guesses have shut sharing until the next start."""
        return self._wrong_in_all >= TRIES_IN_ALL

    def invite(self) -> Invitation:
        """A new invitation; the one before is void. The path is empty where sharing has closed."""
        with self._lock:
            if self.closed:
                return Invitation("", 0.0)
            self._word, self._until = secrets.token_urlsafe(16), self._clock() + INVITED_SECONDS
            return Invitation(f"/join/{self._word}", INVITED_SECONDS)

    def invitation(self) -> Invitation:
        """The one that is good now, a new one where none is."""
        with self._lock:
            left = self._until - self._clock()
            if self._word and left > 0.0:
                return Invitation(f"/join/{self._word}", left)
        return self.invite()

    def invited(self, word: str) -> bool:
        """Whether this is the invitation; a wrong word counts as a try. Using it is `enter`."""
        with self._lock:
            return self._right(word)

    def enter(self, word: str, name: str) -> str | None:
        """Let a device in: its own word for the cookie, None where the invitation is not good (any more)."""
        with self._lock:
            if not self._right(word) or len(self._in) >= MOST:
                return None
            self._word = ""
            own, id = secrets.token_urlsafe(16), secrets.token_hex(4)
            now = self._clock()
            self._in[id] = (own, Device(id, name.strip()[:NAME_LENGTH] or "a device", False, 0.0), now)
            return own

    def _right(self, word: str) -> bool:
        now = self._clock()
        while self._wrong and now - self._wrong[0] >= 60.0:
            self._wrong.popleft()
        if self.closed or len(self._wrong) >= TRIES_A_MINUTE:
            return False
        # Compared even where none is open: the time taken tells nothing.
        alike = hmac.compare_digest(word.encode("utf-8", "replace"), (self._word or " ").encode())
        if alike and self._word and now < self._until:
            return True
        self._wrong.append(now)
        self._wrong_in_all += 1
        return False

    def known(self, word: str) -> Device | None:
        """The device that holds this word; asking marks it as seen."""
        with self._lock:
            found = None
            for id, (own, device, _) in self._in.items():
                if hmac.compare_digest(word.encode("utf-8", "replace"), own.encode()):
                    found = id, own, device
            if found is None:
                return None
            self._in[found[0]] = (found[1], found[2], self._clock())
            return found[2]

    def all(self) -> tuple[Device, ...]:
        """Every device, the one that came first first."""
        with self._lock:
            now = self._clock()
            return tuple(replace(device, seen=now - seen) for _, device, seen in self._in.values())

    def drop(self, id: str) -> bool:
        """Shut one out; False where there is none of that id."""
        with self._lock:
            return self._in.pop(id, None) is not None

    def allow(self, id: str, design: bool) -> bool:
        """Say whether a device may change sets; False where there is none of that id."""
        with self._lock:
            found = self._in.get(id)
            if found is None:
                return False
            self._in[id] = (found[0], replace(found[1], design=design), found[2])
            return True
