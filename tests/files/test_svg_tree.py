"""SVG elements as text, read back by the standard library's parser, which has no part in writing them."""

from xml.etree import ElementTree

from hypothesis import given
from hypothesis import strategies as st

from sheets.files.write.svg_tree import element, spelt, worded

# What XML can carry in a text (XML 1.0, 2.2); a reader makes one line end of every kind (2.11).
_TEXTS = st.text(st.characters(exclude_categories=("Cs", "Cc"), exclude_characters="\ufffe\uffff"))


@given(_TEXTS, st.text(st.sampled_from("a&<>\"'\t\r\n")))
def test_words_and_attributes_come_back_as_they_were(words: str, value: str) -> None:
    made = element("g", {"id": "one", "aria-label": value}, worded("title", words), element("use", {}))
    read = ElementTree.fromstring(spelt(made))
    assert read.attrib == {"aria-label": value, "id": "one"}
    assert [each.tag for each in read] == ["title", "use"]
    assert (read[0].text or "") == words


def test_a_style_sheet_stands_as_it_is() -> None:
    sheet = element("style", {"type": "text/css"})
    sheet.text = "g>path{fill:none}"
    assert spelt(sheet) == '<style type="text/css"><![CDATA[g>path{fill:none}]]></style>'
    assert ElementTree.fromstring(spelt(sheet)).text == sheet.text


def test_attributes_stand_in_order_and_what_is_empty_is_short() -> None:
    assert spelt(element("path", {"id": "c0", "d": "M0 0"})) == '<path d="M0 0" id="c0" />'
