"""`jbridge sheet SESSION`: one page for the customer."""

from pathlib import Path

import click

from daq.cli import completing
from daq.cli.options import Context, common_options


@click.command(
    "sheet",
    epilog="\b\nExample: jbridge sheet 4711\n"
    "         jbridge sheet 4711 --units both --output for-the-customer.pdf",
)
@click.argument("session", type=click.Path(), shell_complete=completing.sessions)
@click.option(
    "--output",
    type=click.Path(path_type=Path),
    metavar="FILE.html|.pdf",
    help="Where to; default: sheet.html in the session's folder.",
)
@click.option(
    "--units",
    type=click.Choice(["mm", "inch", "both"]),
    help="Lengths in these; default: as the plan prints its limits.",
)
@click.option("--replace", is_flag=True, help="Write over a file that something else made.")
@common_options
def command(
    context: Context, session: str, output: Path | None, units: str | None, replace: bool
) -> int:
    """Make one page for the customer: what SESSION found of the part, and how that is proven.

    SESSION is a folder, an id, the last letters of an id (four or more) or a job number, if only
    one session fits. A session that is open, rejected or abandoned gets a sheet that says so across
    the page. HOME/shop.toml holds the shop's name, address and logo: jbridge guide data.

    jbridge verify --sheet FILE tells later whether a sheet was changed.
    """
    import json

    from daq.cli.sheet_run import page_of, refuse_study, write_page
    from daq.errors import UsageError
    from daq.services.folders import session_folder
    from daq.services.home import home_folder
    from daq.services.shop_file import letterhead
    from daq.storage.whole import whole
    from drivers.printable import printable

    if output is not None and output.suffix.lower() not in (".html", ".htm", ".pdf"):
        raise UsageError(f"{output}: a name that ends in .html or .pdf is wanted.", "--output")
    home = home_folder(context.home)
    folder = session_folder(session, home)
    state, found = whole(folder)
    refuse_study(state, folder)
    shop = letterhead(home)
    html = page_of(state, len(found.entries), found.chain, units or "", shop)
    path = output or folder / "sheet.html"
    write_page(path, html, shop, replace=replace)
    verdict = state.closed.verdict if state.closed else "open"
    if context.as_json:
        said = {"sheet": str(path), "session_id": state.opened.session, "verdict": verdict}
        print(json.dumps(said, ensure_ascii=False))
    else:
        print(printable(str(path)))
    return 0
