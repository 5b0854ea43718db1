"""Other devices: invitations that are good once, guesses that are counted, rights that can be taken back."""

from __future__ import annotations

import pytest

from lodestring.errors import LodestringError
from lodestring.web.devices import INVITED_SECONDS, MOST, TRIES_A_MINUTE, TRIES_IN_ALL, Devices
from lodestring.web.lan import checked, listen_on


class Clock:
    """Seconds that pass when told to."""

    def __init__(self) -> None:
        self.now = 1000.0

    def __call__(self) -> float:
        return self.now


def word_of(devices: Devices) -> str:
    return devices.invite().path.rpartition("/")[2]


def test_an_invitation_lets_one_device_in_and_no_second() -> None:
    devices = Devices(Clock())
    word = word_of(devices)
    assert len(word) >= 22, "128 bits in base 64"
    assert devices.invited(word), "looking at the page does not use it up"
    own = devices.enter(word, "Ann's phone")
    assert own
    assert own != word
    assert devices.enter(word, "another") is None
    assert [d.name for d in devices.all()] == ["Ann's phone"]


def test_an_invitation_ends_after_five_minutes() -> None:
    clock = Clock()
    devices = Devices(clock)
    word = word_of(devices)
    clock.now += INVITED_SECONDS - 1
    assert devices.invited(word)
    clock.now += 1
    assert not devices.invited(word)
    assert devices.invitation().path != f"/join/{word}", "a new one stands there"


def test_a_new_invitation_makes_the_old_one_void() -> None:
    devices = Devices(Clock())
    old, new = word_of(devices), word_of(devices)
    assert devices.enter(old, "") is None
    assert devices.enter(new, "")


def test_five_wrong_words_in_a_minute_shut_the_door_for_that_minute() -> None:
    clock = Clock()
    devices = Devices(clock)
    word = word_of(devices)
    for _ in range(TRIES_A_MINUTE):
        assert not devices.invited("a guess")
    assert devices.enter(word, "") is None, "even the right word waits"
    clock.now += 60.0
    assert devices.enter(word, "")


def test_twenty_wrong_words_close_sharing_for_good() -> None:
    clock = Clock()
    devices = Devices(clock)
    for _ in range(TRIES_IN_ALL):
        clock.now += 61.0
        devices.invited("a guess")
    assert devices.closed
    assert devices.invite().path == ""
    clock.now += 3600.0
    assert devices.enter("", "") is None


def test_an_empty_word_is_never_right() -> None:
    devices = Devices(Clock())
    assert devices.enter("", "x") is None
    assert devices.known("") is None
    word = word_of(devices)
    devices.enter(word, "")
    assert devices.enter("", "x") is None
    assert devices.enter(" ", "x") is None


def test_a_dropped_device_is_known_no_longer() -> None:
    devices = Devices(Clock())
    own = devices.enter(word_of(devices), "phone")
    assert own
    known = devices.known(own)
    assert known
    assert not known.design
    assert devices.allow(known.id, True)
    assert devices.known(own).design  # type: ignore[union-attr]
    assert devices.drop(known.id)
    assert devices.known(own) is None
    assert not devices.drop(known.id)
    assert not devices.allow(known.id, True)


def test_when_a_device_was_last_seen_is_told() -> None:
    clock = Clock()
    devices = Devices(clock)
    own = devices.enter(word_of(devices), "phone")
    clock.now += 42.0
    assert devices.all()[0].seen == pytest.approx(42.0)
    devices.known(own or "")
    assert devices.all()[0].seen == 0.0


def test_no_more_devices_than_a_workshop_has() -> None:
    devices = Devices(Clock())
    for _ in range(MOST):
        assert devices.enter(word_of(devices), "one")
    assert devices.enter(word_of(devices), "one too many") is None


# RFC 1918 and RFC 3927 blocks; 8.8.8.8 is global, 192.0.2.1 is kept for documentation (RFC 5737).
@pytest.mark.parametrize("address", ["192.168.1.20", "10.0.0.7", "172.16.5.4", "169.254.10.10"])
def test_private_addresses_may_be_shared_on(address: str) -> None:
    assert checked(address) == address


@pytest.mark.parametrize("address", ["127.0.0.1", "0.0.0.0", "8.8.8.8", "172.32.0.1", "::1", "home"])
def test_other_addresses_are_refused_with_a_sentence(address: str) -> None:
    with pytest.raises(LodestringError, match="; came "):
        checked(address)


def test_a_taken_port_is_said() -> None:
    with listen_on("127.0.0.1", 0) as one, pytest.raises(LodestringError, match="must be free for sharing"):
        listen_on("127.0.0.1", one.getsockname()[1])
