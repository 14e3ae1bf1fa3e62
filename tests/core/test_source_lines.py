"""From a JSON pointer to the stretch of the text as typed, and on to the lines that a person is shown."""

import json

from hypothesis import given
from hypothesis import strategies as st

from catalogue.core.source_lines import WIDEST, Span, Text, excerpt, spans

VALUES = st.recursive(
    st.none() | st.booleans() | st.integers() | st.text(max_size=6),
    lambda inside: st.lists(inside, max_size=4) | st.dictionaries(st.text(max_size=4), inside, max_size=4),
    max_leaves=12,
)
LAYOUTS = st.sampled_from(
    [
        {},
        {"separators": (",", ":")},
        {"indent": 1},
        {"indent": "\t"},
        {"indent": 4, "separators": (" ,", " :  ")},
    ]
)


def members(value, pointer=""):
    """Every pointer of a document with its value, by walking the document and not its text."""
    yield pointer, value
    if isinstance(value, dict):
        for name, inside in value.items():
            step = name.replace("~", "~0").replace("/", "~1")
            yield from members(inside, f"{pointer}/{step}")
    elif isinstance(value, list):
        for index, inside in enumerate(value):
            yield from members(inside, f"{pointer}/{index}")


def marked_text(blocks):
    return "".join(
        stretch.text for block in blocks for line in block for stretch in line.stretches if stretch.is_marked
    )


def numbers(blocks):
    return [[line.number for line in block] for block in blocks]


@given(VALUES, LAYOUTS, st.booleans())
def test_each_value_is_found_where_it_was_typed_in_any_layout(value, layout, plain):
    text = json.dumps(value, ensure_ascii=not plain, **layout)
    every = dict(members(value))
    found = spans(text, every)

    assert found.keys() == every.keys()
    for pointer, inside in every.items():
        if not pointer:
            assert found[pointer] == Span(0, 1)
            continue
        stretch = text[found[pointer].start : found[pointer].finish]
        parent = every[pointer.rpartition("/")[0]]
        if isinstance(parent, dict):
            assert json.loads(f"{{{stretch}}}") == {
                pointer.rpartition("/")[2].replace("~1", "/").replace("~0", "~"): inside
            }
        else:
            assert json.loads(stretch) == inside


def test_a_pointer_that_leads_nowhere_gets_what_it_would_have_been_in():
    text = '{"ends": [{"name": "A"}], "nets": []}'
    found = spans(text, ["/ends/0/connector", "/nets/7/name", "/cable"])

    assert text[found["/ends/0/connector"].start :].startswith('{"name": "A"}')
    assert text[found["/nets/7/name"].start : found["/nets/7/name"].finish] == '"nets": []'
    assert found["/cable"] == Span(0, 1)


def test_of_a_name_used_twice_the_last_counts_as_it_does_for_every_reader():
    text = '{"a": 1, "a": 2}'
    assert json.loads(text) == {"a": 2}
    found = spans(text, ["/a"])["/a"]
    assert text[found.start : found.finish] == '"a": 2'


def test_what_stands_before_a_flaw_is_still_found():
    text = '{"readings": [{"id": "r1"}, {"id": "r2"},, {"id": "r3"}]}'
    found = spans(text, ["/readings/1", "/readings/2", "/readings/3"])

    assert text[found["/readings/1"].start : found["/readings/1"].finish] == '{"id": "r2"}'
    # The flaw stands where the next value should; of what follows nothing is known but the list it is in.
    assert found["/readings/2"].start == text.index(",,") + 1
    assert found["/readings/3"].start == text.index('"readings"')


@given(st.text(alphabet='{}[]",:1 \n\\ab', max_size=40))
def test_no_text_however_broken_is_an_error(text):
    whole = len(text) + 1
    for span in spans(text, ["", "/a", "/a/0", "/0/b"]).values():
        assert 0 <= span.start <= span.finish <= whole


@given(st.text(alphabet="ab\n\r", max_size=60), st.data())
def test_lines_are_those_that_an_editor_counts(text, data):
    lines = text.split("\n")
    offset = data.draw(st.integers(0, len(text)))

    assert Text(text).line_count == len(lines)
    assert Text(text).line_at(offset) == text[:offset].count("\n") + 1
    number = data.draw(st.integers(1, len(lines)))
    span = Text(text).span_of_line(number)
    assert text[span.start : span.finish] == lines[number - 1]


def test_the_lines_concerned_come_with_their_neighbours_in_runs():
    text = Text("\n".join(f"line {number}" for number in range(1, 31)))
    blocks = excerpt(text, [text.span_of_line(4), text.span_of_line(7), text.span_of_line(20)], around=2)

    assert numbers(blocks) == [[2, 3, 4, 5, 6, 7, 8, 9], [18, 19, 20, 21, 22]]
    assert [line.number for block in blocks for line in block if line.is_marked] == [4, 7, 20]
    assert marked_text(blocks) == "line 4line 7line 20"


def test_only_the_head_of_a_long_list_is_marked():
    text = json.dumps({"readings": [{"id": f"r{number}"} for number in range(100)]}, indent=1)
    blocks = excerpt(Text(text), spans(text, ["/readings"]).values())

    assert numbers(blocks) == [[1, 2, 3, 4]]
    assert marked_text(blocks) == '"readings": ['


def test_a_document_in_one_long_line_is_shown_in_pieces_around_each_place():
    text = json.dumps({"readings": [{"id": f"r{number}"} for number in range(5000)]})
    blocks = excerpt(Text(text), spans(text, ["/readings/17", "/readings/4000"]).values())
    lines = blocks[0]

    assert [line.number for line in lines] == [1, 1]
    assert [line.piece for line in lines] == [0, 1]
    assert marked_text(blocks) == '{"id": "r17"}{"id": "r4000"}'
    assert all(sum(len(stretch.text) for stretch in line.stretches) <= WIDEST + 2 for line in lines)
    assert all(line.stretches[0].text == line.stretches[-1].text == "…" for line in lines)


def test_in_one_long_line_a_whole_list_is_marked_at_its_head_only():
    text = json.dumps({"readings": [{"id": f"r{number}"} for number in range(5000)]})
    blocks = excerpt(Text(text), spans(text, ["/readings", "/readings/4000"]).values())
    head, entry = ("".join(part.text for part in line.stretches if part.is_marked) for line in blocks[0])

    assert head.startswith('"readings": [{"id": "r0"}')
    assert len(head) <= WIDEST
    assert entry == '{"id": "r4000"}'


@given(
    st.text(alphabet="ab\n", max_size=80),
    st.lists(st.tuples(st.integers(0, 80), st.integers(0, 80)), max_size=5),
)
def test_what_is_shown_is_the_text_itself_line_by_line(text, pairs):
    marked = [Span(min(*pair, len(text)), min(max(pair), len(text))) for pair in pairs]
    for block in excerpt(Text(text), marked):
        for line in block:
            shown = "".join(stretch.text for stretch in line.stretches)
            assert shown == text.split("\n")[line.number - 1]
