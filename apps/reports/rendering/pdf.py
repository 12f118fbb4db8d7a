"""HTML to PDF: WeasyPrint with nothing but our own assets in reach, then a pass that mends tags."""

import datetime as dt
import io
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Any

import pikepdf
from django.conf import settings

from apps.core.exceptions import DomainError
from apps.reports.rendering.arabic import for_paper
from apps.reports.rendering.mirroring import mirror_grids

PAPER = Path(settings.BASE_DIR) / "apps" / "core" / "fonts"
ASSETS = {
    **{f"fonts/{path.name}": path for path in sorted(PAPER.glob("*.ttf"))},
}
FACES = (
    "literata-400", "literata-400-italic", "literata-600", "literata-600-italic", "atkinson-400",
    "atkinson-500", "atkinson-600", "atkinson-700", "noto-arabic-400", "noto-arabic-600",
)  # fmt: skip
# the papers that there are, each with its style sheets beside the faces, the last one wins
STYLES = (REPORT, DAY, PROPOSAL, SURVEY) = ("report", "day", "proposal", "survey")
SHEETS = {
    REPORT: ("print", "report"), DAY: ("print", "day"), PROPOSAL: ("print", "report", "proposal"),
    SURVEY: ("print", "day", "survey"),
}  # fmt: skip
# ISO 216 and ANSI/ASME Y14.1, as CSS Paged Media names them
SIZES = {"a4": "A4", "letter": "letter"}
# where the words of a paper end in its template, the sheet that draws it closer together, and the
# share of a page that is too little to turn over for (own choice)
END, SNUG, LITTLE = "end", "snug", 0.45


class RenderRefused(DomainError):
    """The document asked for something that is not its own."""

    code = "render_refused"


@cache
def _engine() -> Any:
    import weasyprint
    from weasyprint.text.fonts import FontConfiguration
    from weasyprint.urls import URLFetcher, URLFetcherResponse

    mirror_grids()

    class Assets(URLFetcher):  # type: ignore[misc]
        """Hands out named fonts and the photos of one report; refuses everything else."""

        def __init__(self, photos: Mapping[str, bytes]) -> None:
            super().__init__(allowed_protocols=["asset"])
            self.photos = photos
            self.denied: list[str] = []

        def fetch(self, url: str, headers: Any = None) -> Any:
            """Return an asset's bytes."""
            name = url.removeprefix("asset:").lstrip("/")
            name = name.removeprefix("css/../").removeprefix("../")
            if name in ASSETS:
                return URLFetcherResponse(
                    url, ASSETS[name].read_bytes(), {"Content-Type": "font/ttf"}
                )
            if url.startswith("asset:") and name in self.photos:
                return URLFetcherResponse(url, self.photos[name], {"Content-Type": "image/jpeg"})
            self.denied.append(url)
            raise ValueError(f"{url[:80]} is not an asset of this report")

    fonts = FontConfiguration()
    sheets = {
        name: weasyprint.CSS(
            string=(PAPER / f"{name}.css").read_text(encoding="utf-8"),
            font_config=fonts,
            url_fetcher=Assets({}),
            base_url="asset:",
        )
        for name in ("print", *STYLES, SNUG)
    }
    for code, size in SIZES.items():
        sheets[code] = weasyprint.CSS(string=f"@page {{ size: {size} }}", font_config=fonts)
    return weasyprint, Assets, fonts, sheets


def faces_missing() -> list[str]:
    """Return the faces whose files are not there; another of ours stands in for them."""
    return [name for name in FACES if not (PAPER / f"{name}.ttf").is_file()]


def warm() -> None:
    """Load the engine and the fonts, so that the first report does not wait for them."""
    _engine()


def html_to_pdf(
    html: str, photos: Mapping[str, bytes], attached: Mapping[str, bytes] | None = None,
    created: str = "", style: str = REPORT, paper: str = "a4",
) -> bytes:  # fmt: skip
    """Return a tagged PDF in a style, on a paper of SIZES, with files attached by name.

    `created`: when the data were made, ISO 8601. Raises RenderRefused for a foreign address.
    """
    weasyprint, assets, fonts, styles = _engine()
    fetcher = assets(photos)
    attachments = []
    for name, data in (attached or {}).items():
        made = dt.datetime.fromisoformat(created)
        attachments.append(weasyprint.Attachment(
            string=data, name=name, description="The readings of this report",
            created=made, modified=made, url_fetcher=fetcher,
        ))  # fmt: skip
    document = weasyprint.HTML(string=for_paper(html), base_url="asset:", url_fetcher=fetcher)

    def laid_out(*more: str) -> Any:
        names = (*SHEETS[style], paper, *more)
        return document.render(
            font_config=fonts, stylesheets=[styles[name] for name in names],
            pdf_variant="pdf/ua-1", attachments=attachments,
        )  # fmt: skip

    laid = laid_out()
    if _ends_on_little(laid):
        closer = laid_out(SNUG)
        if len(closer.pages) < len(laid.pages):
            laid = closer
    raw = laid.write_pdf(pdf_variant="pdf/ua-1", attachments=attachments)
    if fetcher.denied:
        raise RenderRefused(f"the paper asked for {fetcher.denied[0][:80]}")
    return mend(raw)


def _ends_on_little(laid: Any) -> bool:
    """Tell whether a paper's words run on to a page that they hardly fill."""
    for page in laid.pages[1:]:
        if END in page.anchors:
            return bool(page.anchors[END][-1] < LITTLE * page.height)
    return False


def mend(raw: bytes) -> bytes:
    """Return the PDF with header scopes on its tables and printable links; same in, same out."""
    with pikepdf.open(io.BytesIO(raw)) as pdf:
        for item in pdf.objects:
            if not isinstance(item, pikepdf.Dictionary):
                continue
            if item.get("/S") == pikepdf.Name.TH:
                item["/A"] = pikepdf.Dictionary(O=pikepdf.Name.Table, Scope=_scope(item))
            if item.get("/Subtype") == pikepdf.Name.Link:
                item["/F"] = 4
        _artifacts(pdf)
        out = io.BytesIO()
        pdf.save(out, deterministic_id=True, linearize=False)
    return out.getvalue()


def _scope(header: pikepdf.Dictionary) -> pikepdf.Name:
    row = header.get("/P")
    cells = row.get("/K") if row is not None else None
    kinds = [cell.get("/S") for cell in cells] if isinstance(cells, pikepdf.Array) else []
    if kinds and all(kind == pikepdf.Name.TH for kind in kinds):
        return pikepdf.Name.Column
    return pikepdf.Name.Row


def _in_tree(pdf: pikepdf.Pdf) -> dict[int, set[int]]:
    """Return page object number -> marked-content ids that the structure tree holds."""
    held: dict[int, set[int]] = {}
    todo: list[tuple[Any, int | None]] = [(pdf.Root.StructTreeRoot, None)]
    while todo:
        node, page = todo.pop()
        if isinstance(node, pikepdf.Array):
            todo.extend((child, page) for child in node)
        elif isinstance(node, int):
            if page is not None:
                held.setdefault(page, set()).add(int(node))
        elif isinstance(node, pikepdf.Dictionary):
            own = node.get("/Pg")
            number = own.objgen[0] if own is not None else page
            if node.get("/Type") == pikepdf.Name.MCR:
                held.setdefault(number or 0, set()).add(int(node.MCID))
            elif "/K" in node:
                todo.append((node.K, number))
    return held


def _artifacts(pdf: pikepdf.Pdf) -> None:
    """Mark running heads and feet, which are in no structure element, as artifacts."""
    held = _in_tree(pdf)
    for page in pdf.pages:
        mine = held.get(page.obj.objgen[0], set())
        changed, out = False, []
        instructions: list[Any] = list(pikepdf.parse_content_stream(page))
        for operands, operator in instructions:
            if str(operator) == "BDC" and isinstance(operands[1], pikepdf.Dictionary):
                number = operands[1].get("/MCID")
                if number is not None and int(number) not in mine:
                    kind = pikepdf.Dictionary(Type=pikepdf.Name.Pagination)
                    out.append(([pikepdf.Name.Artifact, kind], operator))
                    changed = True
                    continue
            out.append((operands, operator))
        if changed:
            page.Contents = pdf.make_stream(pikepdf.unparse_content_stream(out))


def render(snapshot: Mapping[str, Any], photos: Mapping[str, bytes]) -> bytes:
    """Return the PDF of a snapshot; `photos` are the JPEG bytes by stored name."""
    from apps.reports.rendering.data_files import readings_csv, readings_json
    from apps.reports.rendering.document import html_of

    names = {stored: f"asset:photo/{i}.jpg" for i, stored in enumerate(sorted(photos))}
    files = {f"photo/{i}.jpg": photos[stored] for i, stored in enumerate(sorted(photos))}
    attached = {
        "readings.json": readings_json(snapshot), "readings.csv": readings_csv(snapshot)
    }  # fmt: skip
    return html_to_pdf(
        html_of(snapshot, names), files, attached, snapshot["visit"]["finished"],
        paper=snapshot.get("paper", "a4"),
    )  # fmt: skip
