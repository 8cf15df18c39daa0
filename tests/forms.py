"""Read the forms of a page as a browser would, to send them back filled with anything at all."""

from dataclasses import dataclass, field
from html.parser import HTMLParser
from urllib.parse import urljoin

TYPED = {"text", "email", "tel", "number", "search", "date", "time", "url", "password", "textarea"}
CHOSEN = {"radio", "checkbox", "select"}


@dataclass
class Field:
    """One control: what kind it is and the values it offers."""

    name: str
    kind: str
    values: list[str] = field(default_factory=list)


@dataclass
class PageForm:
    """One form: where it goes, how, and its controls by name."""

    action: str
    method: str
    fields: dict[str, Field] = field(default_factory=dict)

    def filled(self, typed, chosen=None):
        """What is sent when every typed control holds ``typed`` and every choice is the last one, or ``chosen``."""
        sent = {}
        for each in self.fields.values():
            if each.kind in TYPED:
                sent[each.name] = typed
            elif each.kind in CHOSEN:
                sent[each.name] = chosen if chosen is not None else (each.values or [""])[-1]
            else:
                sent[each.name] = (each.values or [""])[-1]
        return sent


class _Reader(HTMLParser):
    def __init__(self, page_path):
        super().__init__()
        self.page_path, self.forms, self._form, self._select = page_path, [], None, None

    def handle_starttag(self, tag, attrs):
        given = dict(attrs)
        if tag == "form":
            self._form = PageForm(
                urljoin(self.page_path, given.get("action") or ""), (given.get("method") or "get").lower()
            )
            self.forms.append(self._form)
        elif tag == "option" and self._select is not None:
            self._select.values.append(given.get("value") or "")
        elif self._form is not None and given.get("name") and tag in {"input", "textarea", "select", "button"}:
            kind = {"input": given.get("type", "text"), "button": "button"}.get(tag, tag)
            control = self._form.fields.setdefault(given["name"], Field(given["name"], kind))
            control.values.append(given.get("value") or ("on" if kind == "checkbox" else ""))
            self._select = control if tag == "select" else None

    def handle_endtag(self, tag):
        if tag == "form":
            self._form = None
        elif tag == "select":
            self._select = None


def forms_of(response, page_path):
    """The forms on a page that post to the product, by their actions."""
    reader = _Reader(page_path)
    reader.feed(response.content.decode())
    return [form for form in reader.forms if form.method == "post"]
