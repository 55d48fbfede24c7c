"""Answers as somebody copied them: forms of frames, lists of values, and nothing lost."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from garage.evidence.codes.onboard.answers import read_answers
from garage.evidence.codes.onboard.frames import messages_of
from garage.evidence.codes.onboard.support import list_of, pids_supported

# 1.00 kPa across, 102.80 before, 101.80 after.
DIFFERENCE = "417A070064282827C4"


@pytest.mark.parametrize(
    "text",
    [
        "41 31 01 2C",
        "4131012c",
        "0x41 0x31 0x01 0x2C",
        "> 01 31\n\n41 31 01 2C\n>",
        "01 31 41 31 01 2C",
        "7E8 04 41 31 01 2C",
        "7E80441310 12C",
        "7E8 04 41 31 01 2C AA AA AA",
        "can0  7E8   [8]  04 41 31 01 2C 00 00 00",
        "18 DA F1 10 04 41 31 01 2C",
        "18DAF1100441 31012C",
        "04 41 31 01 2C 55 55 55",
    ],
)
def test_single_answer_is_read_in_every_form(text: str) -> None:
    read = read_answers(text)
    assert [(each.pid, each.value) for each in read.decoded] == [("31", 300.0)]
    assert read.unread == ()


@pytest.mark.parametrize(
    "text",
    [
        DIFFERENCE,
        "7E8 10 09 41 7A 07 00 64 28\n7E8 21 28 27 C4 00 00 00 00",
        "7E8 10 09 41 7A 07 00 64 28; 7E8 21 28 27 C4",
        "10 09 41 7A 07 00 64 28\n21 28 27 C4 AA AA AA AA",
        "01 7A\n009\n0: 41 7A 07 00 64 28\n1: 28 27 C4 00 00 00 00",
        "0:417A07006428\n1:2827C400000000",
        "0: 41 7A 07 00 64 28\n1: 28 27 C4",
    ],
)
def test_answer_of_several_frames_is_read_in_every_form(text: str) -> None:
    read = read_answers(text)
    assert [each.value for each in read.decoded] == [1.0, 102.8, 101.8]
    assert read.unread == ()


def test_frames_of_two_control_units_may_stand_between_each_other() -> None:
    read = read_answers(
        "7E8 10 09 41 7A 07 00 64 28\n7E9 10 09 41 7A 07 00 C8 28\n"
        "7E8 21 28 27 C4\n7E9 21 28 27 C4\n7EA 03 41 05 7B"
    )
    assert [(each.sender, each.value) for each in read.decoded] == [
        ("7E8", 1.0),
        ("7E8", 102.8),
        ("7E8", 101.8),
        ("7E9", 2.0),
        ("7E9", 102.8),
        ("7E9", 101.8),
        ("7EA", 83.0),
    ]


def test_more_than_sixteen_frames_count_on_from_nought() -> None:
    data = bytes(range(0x20, 0x20 + 125))
    lines = [f"7E8 10 {len(data):02X} {data[:6].hex()}"]
    rest = [data[at : at + 7] for at in range(6, len(data), 7)]
    lines += [f"7E8 2{n % 16:X} {part.hex()}" for n, part in enumerate(rest, start=1)]
    assert len(rest) > 16
    assert [each.data for each in messages_of("\n".join(lines)).whole] == [data]


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("NO DATA", "no bytes"),
        ("41 31 01 2", "no bytes"),
        ("01 31 01 2C", "begins with a request"),
        ("01", "begins with a request"),
        ("43 01 20 02", "begins with 41"),
        ("7F 01 12", "does not give this value"),
        ("7E8 03 7F 01 12", "does not give this value"),
        ("7E8 30 00 00", "steers the flow"),
        ("7E8 05 41 31 01 2C", "the length in front"),
        ("7E8 00 41 31 01 2C", "the length in front"),
        ("7E8 04 43 31 01 2C", "an answer is 41"),
        ("41 31", "an answer is 41"),
        ("41 31 01", "2 data bytes; got 1"),
        ("41 31 01 2C 00", "2 data bytes; got 3"),
        ("41 EE 01", "got EE"),
        ("41 01 00 00 00 00", "self-tests of a diesel"),
        ("41 00 BE 1F A8", "4 data bytes; got 3"),
        ("7E8 10 09 41 7A 07 00 64 28", "6 of 9 bytes"),
        ("7E8 10 09 41 7A 07 00 64 28\n7E8 22 28 27 C4", "22"),
        ("7E8 21 28 27 C4", "a first frame was due"),
        ("009", "no numbered frames"),
        ("0:", "an answer is 41"),
        ("0: 41 7A 07 00 64 28", "how long the answer is cannot be told"),
        ("0: 41 83 01 00 FA 00\n1: 00 00 00 00 00", "how long the answer is cannot be told"),
        ("0: 41 7A 07 00 64 28\n1: 28 27 C4 01 02", "how long the answer is cannot be told"),
    ],
)
def test_part_that_gives_nothing_is_told_with_its_reason(text: str, reason: str) -> None:
    read = read_answers(text)
    assert (read.decoded, read.states, read.monitors, read.supported) == ((), (), (), ())
    told = [f"{each.written}: {each.reason}" for each in read.unread]
    assert any(reason in each for each in told), told


def test_frame_that_was_lost_leaves_its_answer_unread() -> None:
    text = "7E8 10 0F 41 7F 07 00 DB BA\n7E8 21 00 00 36 EE 80 00 00\n7E8 22 0E 10"
    assert read_answers(text).decoded[0].value == 4000.0
    lost = read_answers(text.replace("7E8 21 00 00 36 EE 80 00 00\n", ""))
    assert lost.decoded == ()
    assert [each.reason for each in lost.unread] == [
        "frame 2 came where 1 was due; copy the frames whole",
        "6 of 15 bytes; copy every frame",
    ]


def test_one_wrong_line_does_not_take_the_others_with_it() -> None:
    read = read_answers("41 31 01\n41 30 0A\nhello")
    assert [(each.pid, each.value) for each in read.decoded] == [("30", 10.0)]
    assert [each.written for each in read.unread] == ["hello", "41 31 01"]


def test_list_of_values_equals_the_commonly_printed_one() -> None:
    # BE 1F A8 13, printed in many texts on ISO 15031-5; from memory.
    expected = "01 03 04 05 06 07 0C 0D 0E 0F 10 11 13 15 1C 1F 20"
    assert pids_supported("00", bytes.fromhex("BE1FA813")) == tuple(expected.split())


@pytest.mark.parametrize(("pid", "data"), [("01", bytes(4)), ("00", bytes(3))])
def test_what_is_no_list_is_refused(pid: str, data: bytes) -> None:
    with pytest.raises(ValueError, match="got"):
        pids_supported(pid, data)


@given(st.sampled_from(["00", "20", "40", "60", "80", "A0"]), st.sets(st.integers(1, 32)))
def test_list_written_into_bytes_comes_back(pid: str, places: set[int]) -> None:
    data = sum(1 << (32 - each) for each in places).to_bytes(4, "big")
    found = pids_supported(pid, data)
    assert [int(each, 16) - int(pid, 16) for each in found] == sorted(places)
    assert {list_of(each) for each in found} <= {pid}


def test_value_that_its_control_unit_does_not_list_stands_with_a_warning() -> None:
    # The list names 31 and no other of the 32 from 21 to 40.
    told = "41 20 00 00 80 00"
    listed, warned, of_other_list = read_answers(
        f"{told}\n41 31 01 2C\n41 30 0A\n41 0C 1A F8"
    ).decoded
    assert (listed.warning, of_other_list.warning, warned.value) == ("", "", 10.0)
    assert "does not list" in warned.warning
    of_other_unit = read_answers(f"{told}\n7E8 03 41 30 0A").decoded[0]
    assert of_other_unit.warning == ""


def test_lists_of_one_control_unit_are_told_together() -> None:
    told = read_answers("7E8 06 41 20 80 00 00 01\n7E8 06 41 00 80 00 00 01").supported
    assert [(each.sender, each.lists, each.pids) for each in told] == [
        ("7E8", ("00", "20"), ("01", "20", "21", "40"))
    ]


def test_self_tests_are_told_with_their_sender_and_the_drive() -> None:
    read = read_answers("7E8 06 41 01 82 08 40 40\n7E8 06 41 41 00 08 40 00")
    since, drive = read.monitors
    assert (since.sender, since.lamp_on, since.codes, since.this_drive) == ("7E8", True, 2, False)
    assert (drive.lamp_on, drive.codes, drive.this_drive) == (None, None, True)
    assert (since.filter_incomplete, drive.filter_incomplete) == (True, False)


def test_states_are_told_with_their_sender() -> None:
    read = read_answers("7E8 03 41 1C 06")
    assert [(each.sender, each.words) for each in read.states] == [("7E8", "Europe")]


LINES = st.one_of(
    st.text(max_size=20),
    st.binary(max_size=12).map(bytes.hex),
    st.binary(max_size=8).map(lambda data: f"7E8 {data.hex()}"),
    st.binary(max_size=7).map(lambda data: f"0: {data.hex()}"),
    st.sampled_from(["009", "7E8 10 09 41 7A 07 00 64 28", "7E8 21 28 27 C4", "41 31 01 2C"]),
)


@given(st.lists(LINES, max_size=6).map("\n".join))
def test_any_text_is_taken_and_no_part_is_lost(text: str) -> None:
    messages = messages_of(text)
    told = " / ".join(each.written for each in (*messages.whole, *messages.unread))
    read_answers(text)
    for part in text.replace(";", "\n").split("\n"):
        written = part.strip().lstrip(">").strip()
        packed = "".join(written.split())
        is_request = len(packed) == 4 and packed.startswith("01")
        assert written in told or is_request
