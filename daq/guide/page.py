"""The guide as one HTML page: no script, nothing fetched from elsewhere."""

import html
from collections.abc import Sequence

from daq.guide.topics import TOPICS, text_of

MARK = "<!DOCTYPE html>\n<!-- made by jbridge guide -->"
"""How a page begins, so that it is known again as this program's."""

_STYLE = """\
body { font: 1.05rem/1.5 Georgia, "Times New Roman", serif; color: #1c1b19; background: #fff;
  max-width: 46rem; margin: 2rem auto; padding: 0 1rem; }
h1, h2, h3, h4, h5, nav { font-family: "Gill Sans", "Trebuchet MS", sans-serif; line-height: 1.25; }
h1 { margin-top: 3.5rem; border-top: 3px solid #7a4a2b; padding-top: .6rem; }
h2 { margin-top: 2rem; }
code, pre { font-family: "DejaVu Sans Mono", Consolas, monospace; font-size: .86em; }
code { background: #f3efe8; padding: 0 .2em; }
pre { background: #f3efe8; padding: .7rem .9rem; overflow-x: auto; }
pre code { padding: 0; }
table { border-collapse: collapse; width: 100%; }
th, td { text-align: left; vertical-align: top; padding: .3rem .7rem .3rem 0;
  border-bottom: 1px solid #d8d0c4; }
nav ul { list-style: none; padding: 0; }
nav b { display: inline-block; min-width: 6.5rem; }
@media (prefers-color-scheme: dark) { body { background: #1f1d1a; color: #ece6dc; }
  code, pre { background: #2b2824; } th, td { border-color: #4a443b; } a { color: #d9a27a; } }
@media print { body { max-width: none; margin: 0; font-size: 10pt; } pre { white-space: pre-wrap; }
  h1 { break-before: page; } nav + section h1 { break-before: auto; } }
"""


def page(topics: Sequence[str]) -> str:
    """These topics as one page, with a list of them where there are several. Raises UsageError for
    a topic that there is not.
    """
    from markdown_it import MarkdownIt  # noqa: PLC0415 - only where a page is made

    texts = {topic: text_of(topic) for topic in topics}
    to_html = MarkdownIt("commonmark", {"html": False}).enable("table")
    title = "journalbridge: the guide" if len(topics) > 1 else f"journalbridge: {topics[0]}"
    parts = [
        f'{MARK}\n<html lang="en">\n<head>\n<meta charset="utf-8">',
        '<meta name="viewport" content="width=device-width, initial-scale=1">',
        f"<title>{html.escape(title)}</title>\n<style>\n{_STYLE}</style>\n</head>\n<body>",
    ]
    if len(topics) > 1:
        told = "".join(
            f'<li><a href="#{topic}"><b>{topic}</b></a> {html.escape(TOPICS[topic])}</li>\n'
            for topic in topics
        )
        parts.append(f"<nav>\n<ul>\n{told}</ul>\n</nav>")
    parts += [
        f'<section id="{topic}">\n{to_html.render(text)}</section>' for topic, text in texts.items()
    ]
    return "\n".join([*parts, "</body>\n</html>\n"])
