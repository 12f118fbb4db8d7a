"""The report, mending and child included, against the PDF engine alone on the same HTML."""

import os
import time
from pathlib import Path

from apps.reports.rendering.child import Child
from apps.reports.rendering.document import html_of
from apps.reports.rendering.pdf import REPORT, SHEETS, _engine, render
from benchmarks.measure import Claim, paired
from benchmarks.world import written_up


def run() -> list[Claim]:
    """Return the claims; fonts and style sheets are warm on both sides."""
    snapshot = written_up()
    html = html_of(snapshot)
    weasyprint, assets, fonts, styles = _engine()

    def bare() -> object:
        fetcher = assets({})
        document = weasyprint.HTML(string=html, base_url="asset:", url_fetcher=fetcher)
        sheets = [*(styles[name] for name in SHEETS[REPORT]), styles["a4"]]
        return document.write_pdf(font_config=fonts, stylesheets=sheets, pdf_variant="pdf/ua-1")

    child = Child()
    child.render(snapshot, {})

    def cpu() -> float:
        """CPU of this process and of the child [s]."""
        assert child._process is not None
        fields = Path(f"/proc/{child._process.pid}/stat").read_text().rsplit(") ", 1)[1].split()
        ticks = int(fields[11]) + int(fields[12])
        return time.process_time() + ticks / os.sysconf("SC_CLK_TCK")

    claims = [
        paired("report in this process, per core", lambda: render(snapshot, {}), bare, rounds=5,
               limit=1.3, against="the bare engine"),
        paired("report through the warm child", lambda: child.render(snapshot, {}), bare,
               rounds=5, limit=1.3, against="the bare engine", clock=cpu),
    ]  # fmt: skip
    child.close()
    a_minute = 60_000 / claims[0].ours_ms
    claims.append(
        Claim(
            f"reports a minute and core: {a_minute:.0f}", claims[0].ours_ms, 0, 0, 0, 0, None, "-"
        )
    )
    return claims
