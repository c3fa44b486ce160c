"""HTML into a PDF. Templates are rendered by the caller, so that nothing here knows the web."""

from collections.abc import Callable, Mapping

Render = Callable[
    [str, Mapping[str, object]], str
]  # makes the text of a template: its name under templates/, the context


def typeset(page: str) -> bytes:
    """A page of HTML with its stylesheet in it as a PDF; the same page gives the same bytes. Nothing is fetched for it.

    Raises OSError where Pango, which WeasyPrint needs, is not installed.
    """
    from weasyprint import HTML  # noqa: PLC0415 - loads Pango, which a bare computer may lack
    from weasyprint.urls import URLFetcher  # noqa: PLC0415

    document = HTML(string=page, url_fetcher=URLFetcher(allowed_protocols={"data"}))
    return bytes(document.write_pdf())
