"""What a page may say: a closed set of verbs and short clean texts; a hostile page gets a sentence, no more."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shouldread.errors import KitError, RequestError, UnknownNameError
from shouldread.views.messages import LONGEST, SHORT, VERBS, message_id, read_message

ID = "0123456789abcdef0123456789abcdef"


def test_a_reading_comes_through_as_it_was_typed() -> None:
    told = {"do": "read", "id": ID, "revision": 3, "sent": 1, "at": "EN", "setting": "volts", "text": " 0,02 V "}
    message = read_message(told)
    assert (message.verb, message.id, message.text) == ("read", ID, "0,02 V")
    assert message.get("at") == "EN" and message.get("state") == ""


def test_a_tick_is_yes_or_nothing() -> None:
    for ticked, word in ((True, "yes"), (False, "")):
        assert read_message({"do": "supply", "id": ID, "limiting": ticked}).get("limiting") == word


@pytest.mark.parametrize(
    "told",
    [
        None,
        [],
        "read",
        {"do": "read"},
        {"do": "read", "id": ""},
        {"do": "read", "id": "../../etc"},
        {"do": "read", "id": ID.upper()},
        {"do": "read", "id": ID + "\n"},
        {"do": "__init__", "id": ID},
        {"do": "run", "id": ID, "text": "import os"},
        {"do": ["read"], "id": ID},
        {"do": "read", "id": ID, "path": "/etc/passwd"},
        {"do": "part", "id": ID, "at": "EN"},
        {"do": "read", "id": ID, "text": 5},
        {"do": "read", "id": ID, "text": {"a": 1}},
        {"do": "read", "id": ID, "text": "x" * (LONGEST + 1)},
        {"do": "read", "id": ID, "at": "x" * (SHORT + 1)},
        {"do": "read", "id": ID, "text": "EN 0.02\x00"},
        {"do": "read", "id": ID, "text": "EN\u202e 20.0"},
        {"do": "read", "id": ID, "text": "EN\u200b 0.02"},
    ],
)
def test_everything_else_is_refused_in_words(told: object) -> None:
    with pytest.raises((RequestError, UnknownNameError)) as caught:
        read_message(told)
    assert str(caught.value)


def test_an_id_is_taken_only_if_it_is_one() -> None:
    assert message_id({"id": ID}) == ID
    assert message_id({"id": "<script>"}) == message_id({}) == message_id(7) == ""


json = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=30),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=8), inner, max_size=4),
    max_leaves=8,
)
fields = st.sampled_from(["do", "id", "text", "at", "setting", "state", "condition", "limiting", "fault", "rail"])


@given(st.dictionaries(fields, json | st.sampled_from(sorted(VERBS)) | st.just(ID), max_size=6))
def test_no_message_does_anything_but_come_through_or_be_refused(told: dict[str, object]) -> None:
    try:
        message = read_message(told)
    except KitError:
        return
    assert message.verb in VERBS and message.id == ID
    assert set(message.more) <= VERBS[message.verb]
    assert all(isinstance(value, str) and len(value) <= SHORT for value in message.more.values())
