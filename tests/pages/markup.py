"""What every page of ours keeps to, read off its HTML."""

from __future__ import annotations

from html.parser import HTMLParser

_NO_LABEL_NEEDED = {"hidden", "submit", "button"}


class Page(HTMLParser):
    """Reads a page and notes what a strict content policy or a screen reader would stumble over."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.faults: list[str] = []
        self.text: list[str] = []
        self.fields: list[tuple[str, str]] = []
        self.ids: list[str] = []
        self.hidden: dict[str, str] = {}
        self.labels_for: set[str] = set()
        self.count: dict[str, int] = {}
        self.feed(html)
        self._conclude()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = {name: value or "" for name, value in attrs}
        self.count[tag] = self.count.get(tag, 0) + 1
        self._note_policy(tag, given)
        if "id" in given:
            self.ids.append(given["id"])
        if given.get("type") == "hidden":
            self.hidden[given.get("name", "")] = given.get("value", "")
        if tag == "label":
            self.labels_for.add(given.get("for", ""))
        if tag in ("input", "select", "textarea") and given.get("type") not in _NO_LABEL_NEEDED:
            self.fields.append((tag, given.get("id", "")))
        if tag == "img" and not given.get("alt"):
            self.faults.append("a picture without words for it")
        if tag == "html" and not given.get("lang"):
            self.faults.append("no language")
        if tag == "form" and given.get("method", "get").lower() not in ("get", "post"):
            self.faults.append(f"a form by {given['method']}")

    def handle_data(self, data: str) -> None:
        self.text.append(data)

    def _note_policy(self, tag: str, given: dict[str, str]) -> None:
        """script-src 'self' and style-src 'self' run no inline script, handler or style, and nothing comes from elsewhere."""
        if tag == "style" or "style" in given:
            self.faults.append(f"inline style on {tag}")
        if tag == "script" and not given.get("src"):
            self.faults.append("inline script")
        self.faults += [f"{name} on {tag}" for name in given if name.startswith("on")]
        for name in ("src", "href"):
            address = given.get(name, "")
            if tag in ("script", "link", "img") and address and not address.startswith("/"):
                self.faults.append(f"{tag} from elsewhere: {address}")
            if address.lower().startswith("javascript:"):
                self.faults.append(f"script in an address on {tag}")

    def _conclude(self) -> None:
        self.faults += [f"{tag} {identifier!r} has no label" for tag, identifier in self.fields if identifier not in self.labels_for]
        self.faults += [f"id {i!r} twice" for i in sorted(set(self.ids)) if self.ids.count(i) > 1]
        for tag in ("h1", "main", "title"):
            if self.count.get(tag) != 1:
                self.faults.append(f"{self.count.get(tag, 0)} {tag}")


def words(html: str) -> str:
    """The text of a page, blanks drawn together."""
    return " ".join(" ".join(Page(html).text).split())
