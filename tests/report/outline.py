"""What a reader finds on a page: its elements, their attributes and its words."""

from __future__ import annotations

from html.parser import HTMLParser

VOID = {"meta", "br", "hr", "img", "input", "link"}
OUTSIDE = {"script", "link", "img", "iframe", "object"}
ASKING = {"src", "href", "onload", "onclick", "style"}


class Outline(HTMLParser):
    """Collects the elements of a page, and complains where they do not nest."""

    def __init__(self, page):
        super().__init__()
        self.open, self.tags, self.attributes, self.words = [], [], [], []
        self.feed(page)
        self.close()
        assert self.open == []

    def handle_starttag(self, tag, attrs):
        """Note an element and that it is open."""
        self.tags.append(tag)
        self.attributes.append((tag, dict(attrs)))
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag, attrs):
        """Note an element that closes itself."""
        self.tags.append(tag)
        self.attributes.append((tag, dict(attrs)))

    def handle_endtag(self, tag):
        """Close the innermost element."""
        assert self.open.pop() == tag

    def handle_data(self, data):
        """Keep what a reader sees."""
        if "style" not in self.open:
            self.words.append(data)

    @property
    def text(self):
        """Join what a reader sees."""
        return " ".join(" ".join(self.words).split())

    def asks_for_nothing(self):
        """Whether the page is whole by itself and runs nothing."""
        return not OUTSIDE & set(self.tags) and not any(ASKING & set(given) for _, given in self.attributes)

    def has_names_for_all_pictures(self):
        """Whether every picture has a title and a description, and every name stands once."""
        names = [given["id"] for _, given in self.attributes if "id" in given]
        pictures = [given for tag, given in self.attributes if tag == "svg"]
        labelled = all(set(given["aria-labelledby"].split()) <= set(names) for given in pictures)
        return labelled and len(names) == len(set(names)) and all(given["role"] == "img" for given in pictures)
