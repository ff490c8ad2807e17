"""Every sentence that the program can say to a person, found in its source, each with an example.

`python -m tests.house.messages` writes them anew into `messages.txt`; read what changed there.
"""

import ast
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from tests.house.message_examples import BY_ENDING, BY_EXPRESSION, BY_NAME, SAME_AS_FIRST, TRIMS
from tests.places import ROOT

LISTING = Path(__file__).with_name("messages.txt")
ROOMS = ("daq", "drivers")

# What a person never reads as a message, or reads as a text of its own.
DESCRIPTIONS = (
    "daq/export/columns.py",  # columns of the tables, for their metadata
    "daq/export/csvw.py",
    "daq/export/earlier_columns.py",
    "daq/export/keys.py",  # names of columns
    "daq/export/session_columns.py",
    "daq/pictures/",  # words in a picture
    "daq/plan/schema.py",  # descriptions in the JSON Schema
    "daq/metrology/statistics/",  # what only a mistake in the program could raise
    "daq/metrology/uncertainty/components.py",
)
HELP = ("help", "epilog", "short_help", "metavar", "description", "pattern", "title", "source")
CODE = re.compile(
    r"^\s*<|^body \{|@page|schema = 1|^\s*\\|^\^|\[0-9a-f\]|\\d|\\w|\(\?|\(\[\^"
    r"|ATTRS?\{|SUBSYSTEM==|TAG\+=|SYMLINK\+=|ACTION==|GROUP=|ign_set|^#|^sudo |^\"?\w+ = |^\x08"
    r"|^[a-z_.]+\[\{"  # a key
)
_WORD = re.compile(r"[A-Za-z][A-Za-z'-]+")


# Parts of a program that hold no text.
WORDLESS = (
    *(ast.Name, ast.expr_context, ast.operator, ast.unaryop, ast.cmpop, ast.boolop),
    *(ast.Import, ast.ImportFrom, ast.Pass, ast.Break, ast.Continue),
)


class NoExample(Exception):
    """An expression in a message that nothing tells an example for."""


@dataclass(frozen=True, slots=True)
class Message:
    """One sentence, or the piece of one: its template as in the source, and it filled in."""

    file: str
    template: str
    example: str

    @property
    def said(self) -> str:
        """Only what the source says itself, without what is filled in."""
        return re.sub(r"\{[^{}]*\}", " ", self.template)


def messages() -> list[Message]:
    """Of all rooms, file by file, in the order of the source; each template once a file.

    Raises NoExample, which names every expression that has none.
    """
    found: dict[tuple[str, str], Message] = {}
    missing: list[str] = []
    for file in source_files():
        module = ast.parse((ROOT / file).read_text(encoding="utf-8"))
        constants = _constants(module)
        for node in sorted(_texts(module), key=lambda one: (one.lineno, one.col_offset)):
            template = _template(node)
            if _is_message(template, node):
                try:
                    message = Message(file, template, _filled(node, constants, file))
                except NoExample as none:
                    missing.append(str(none))
                else:
                    found.setdefault((file, template), message)
    if missing:
        raise NoExample(
            "\n".join(["Write examples into tests/house/message_examples.py:", *missing])
        )
    return list(found.values())


def source_files() -> list[str]:
    """The files that are looked through, as paths from the root."""
    paths = (path for room in ROOMS for path in (ROOT / room).rglob("*.py"))
    names = sorted(path.relative_to(ROOT).as_posix() for path in paths)
    return [name for name in names if not name.startswith(DESCRIPTIONS)]


def listing(all_of_them: list[Message]) -> str:
    """The text of `messages.txt`."""
    lines = [
        "Every message, with an example of each. Made by: python -m tests.house.messages",
    ]
    last = ""
    for message in all_of_them:
        if message.file != last:
            lines += ["", message.file]
            last = message.file
        lines.append(f"  {_on_one_line(message.template)}")
        if message.example != message.template:
            lines.append(f"    = {_on_one_line(message.example)}")
    return "\n".join(lines) + "\n"


def _on_one_line(text: str) -> str:
    return text.replace("\n", "\\n").replace("\b", "\\b")


def _is_message(template: str, node: ast.expr) -> bool:
    """A sentence or the piece of one: three words of its own, two around something filled in, or
    one with a full stop.
    """
    if CODE.search(template):
        return False
    own = re.sub(r"\{[^{}]*\}", " ", template)
    words = len(_WORD.findall(own))
    has_space = " " in template.strip()
    if isinstance(node, ast.Constant):
        return (words >= 3 and has_space) or bool(re.fullmatch(r"[A-Z][\w' -]*[.?!]", template))
    return words >= 2 and has_space


def _texts(module: ast.Module) -> Iterator[ast.expr]:
    """The literals that may be words to a person: no docstrings, types, help or patterns."""
    stack: list[ast.AST] = [module]
    while stack:
        node = stack.pop()
        if isinstance(node, ast.Constant):
            if isinstance(node.value, str):
                yield node
            continue
        if isinstance(node, ast.JoinedStr) or _is_sum(node):
            assert isinstance(node, ast.expr)
            yield node
            stack += [inner for inner in ast.walk(node) if _stands_alone(inner, node)]
            continue
        stack += _children(node)


def _stands_alone(inner: ast.AST, outer: ast.AST) -> bool:
    """Within a placeholder: a text of its own, listed by itself too if it is a sentence."""
    if inner is outer:
        return False
    if isinstance(inner, ast.Constant):
        return isinstance(inner.value, str) and inner not in _pieces(outer)
    return isinstance(inner, ast.JoinedStr) and inner not in _pieces(outer)


@cache
def _pieces(outer: ast.AST) -> frozenset[ast.AST]:
    """What the template of a text already shows."""
    shown: set[ast.AST] = set()
    if isinstance(outer, ast.BinOp):
        for side in (outer.left, outer.right):
            shown |= {side, *_pieces(side)}
    if isinstance(outer, ast.JoinedStr):
        shown |= set(outer.values)
        for value in outer.values:
            if isinstance(value, ast.FormattedValue) and value.format_spec is not None:
                shown |= set(ast.walk(value.format_spec))
    return frozenset(shown)


def _is_sum(node: ast.AST) -> bool:
    """Texts put together with +."""
    return (
        isinstance(node, ast.BinOp)
        and isinstance(node.op, ast.Add)
        and any(_is_text(side) for side in (node.left, node.right))
    )


def _is_text(node: ast.AST) -> bool:
    if isinstance(node, ast.Constant):
        return isinstance(node.value, str)
    return isinstance(node, ast.JoinedStr) or _is_sum(node)


def _children(node: ast.AST) -> list[ast.AST]:
    """What lies in a node and may hold messages."""
    match node:
        case ast.Expr(value=ast.Constant()):
            return []
        case ast.arg():
            return []
        case ast.AnnAssign(value=value):
            return [] if value is None else [value]
        case ast.FunctionDef() | ast.AsyncFunctionDef():
            decorators = [one for one in node.decorator_list if not _is_click(one)]
            return [node.args, *decorators, *node.body]
        case ast.Assign(targets=[ast.Name(id="EPILOG" | "EXAMPLE" | "COMMANDS")]):
            return []
        case ast.Call(func=func, args=args, keywords=keywords):
            if _is_click(node) or _name(func) in ("compile", "fullmatch", "cast", "sub", "Meta"):
                return []
            return [func, *args, *(k.value for k in keywords if k.arg not in HELP)]
        case ast.Attribute(value=value):
            return [value]
        case _:
            return [one for one in ast.iter_child_nodes(node) if not isinstance(one, WORDLESS)]


def _is_click(node: ast.AST) -> bool:
    """An option, an argument or a command: its words are help."""
    if isinstance(node, ast.Call):
        node = node.func
    return (
        isinstance(node, ast.Attribute)
        and isinstance(node.value, ast.Name)
        and node.value.id == "click"
        and node.attr in ("option", "argument", "command", "group", "Path", "version_option")
    )


def _name(node: ast.expr) -> str:
    """The last name of `a.b.c`, `c` or `a.b.c(…)`."""
    match node:
        case ast.Attribute(attr=name) | ast.Name(id=name):
            return name
        case ast.Call(func=func):
            return _name(func)
        case ast.Subscript(value=value):
            return _name(value)
        case _:
            return ""


def _template(node: ast.expr) -> str:
    match node:
        case ast.Constant(value=str() as text):
            return text
        case ast.JoinedStr(values=values):
            return "".join(_template(value) for value in values)
        case ast.FormattedValue(value=value, conversion=conversion, format_spec=spec):
            shown = ast.unparse(value).replace("{", "").replace("}", "")
            how = f"!{chr(conversion)}" if conversion > 0 else ""
            return f"{{{shown}{how}{_spec(spec)}}}"
        case ast.BinOp() if _is_sum(node):
            return _template(node.left) + _template(node.right)
        case _:
            return "{" + ast.unparse(node).replace("{", "").replace("}", "") + "}"


def _spec(spec: ast.expr | None) -> str:
    """How a value is to be formatted, where that is written out."""
    written = "" if spec is None else _template(spec)
    return f":{written}" if written and "{" not in written else ""


def _constants(module: ast.Module) -> Mapping[str, ast.expr]:
    """What a file's names in capitals stand for, those that it imports from a room too."""
    found = dict(_own_constants(module))
    for node in module.body:
        if isinstance(node, ast.ImportFrom) and node.module and node.level == 0:
            for alias in node.names:
                if alias.name.isupper() and (value := _constant_of(node.module, alias.name)):
                    found[alias.asname or alias.name] = value
    return found


def _own_constants(module: ast.Module) -> Iterator[tuple[str, ast.expr]]:
    for node in module.body:
        match node:
            case ast.Assign(targets=[ast.Name(id=name)], value=value) if name.isupper():
                yield name, value
            case ast.Assign(targets=[ast.Tuple(elts=names)], value=ast.Tuple(elts=values)):
                yield from ((_name(one), value) for one, value in zip(names, values, strict=True))
            case ast.AnnAssign(target=ast.Name(id=name), value=ast.expr() as value):
                if name.isupper():
                    yield name, value
            case _:
                pass


@cache
def _constant_of(module: str, name: str) -> ast.expr | None:
    file = ROOT / f"{module.replace('.', '/')}.py"
    if not file.is_file():
        file = file.with_suffix("") / "__init__.py"
    if not file.is_file():
        return None
    return dict(_own_constants(ast.parse(file.read_text(encoding="utf-8")))).get(name)


def _filled(node: ast.expr, constants: Mapping[str, ast.expr], file: str) -> str:
    """A text with an example in each of its places; raises NoExample."""
    match node:
        case ast.JoinedStr(values=values):
            return "".join(_filled(value, constants, file) for value in values)
        case ast.FormattedValue(value=value, conversion=conversion):
            return _value(value, constants, file, quoted=conversion in (ord("r"), ord("a")))
        case ast.BinOp() if _is_sum(node):
            return _filled(node.left, constants, file) + _filled(node.right, constants, file)
        case ast.Constant(value=str() as text):
            return text
        case _:
            return _value(node, constants, file)


def _value(
    node: ast.expr, constants: Mapping[str, ast.expr], file: str, *, quoted: bool = False
) -> str:
    """The example of one expression: written down, or by the rules below; raises NoExample.

    A text stands for itself; a name in capitals for its value; of a choice the first; a slice, a
    method that only trims and a function that only shows stand for what they are given; else the
    last name tells.
    """
    text = _unquoted(node, constants, file)
    return repr(text) if quoted else text


def _unquoted(node: ast.expr, constants: Mapping[str, ast.expr], file: str) -> str:
    written = BY_EXPRESSION.get(ast.unparse(node))
    if written is not None:
        return written
    match node:
        case ast.Constant(value=value):
            return str(value)
        case ast.JoinedStr() | ast.FormattedValue():
            return _filled(node, constants, file)
        case ast.IfExp(body=body):
            return _value(body, constants, file)
        case ast.BoolOp(values=[first, *_]):
            return _value(first, constants, file)
        case ast.BinOp(op=ast.Add()) if _is_sum(node):
            return _filled(node, constants, file)
        case ast.BinOp():
            return "3"
        case ast.Tuple() | ast.List():
            return _joined(", ", node, constants, file)
        case ast.Dict(keys=[ast.expr() as first, *_]):
            return _value(first, constants, file)
        case ast.Subscript(value=ast.Name(id=name)) if name in constants and _items(
            constants[name]
        ):
            return _value(_items(constants[name])[0], constants, file)
        case ast.Name(id=name) if name in constants:
            return _value(constants[name], constants, file)
        case ast.Call(func=ast.Attribute(value=ast.Constant(value=str() as by), attr="join")):
            return _joined(by, node.args[0], constants, file)
        case ast.Call(func=ast.Name(id="len")):
            return "12"
        case ast.Call(func=ast.Attribute(value=inner, attr=name)) if name in TRIMS:
            return _value(inner, constants, file)
        case ast.Call(func=func, args=[first, *_]) if _name(func) in SAME_AS_FIRST:
            return _value(first, constants, file, quoted=_name(func) in ("repr", "ascii"))
        case ast.Subscript(value=inner, slice=ast.Slice()):
            return _value(inner, constants, file)
        case _:
            name = _name(node)
            ending = name[name.rfind("_") :] if "_" in name else ""
            example = BY_NAME.get(name, BY_NAME.get(name.lstrip("_"), BY_ENDING.get(ending)))
            if example is None:
                raise NoExample(f"{file}: {ast.unparse(node)}")
            return example


def _items(node: ast.expr) -> list[ast.expr]:
    """What a constant holds: the elements of a tuple or list, the values of a dict."""
    match node:
        case ast.Tuple(elts=elements) | ast.List(elts=elements):
            return elements
        case ast.Dict(values=values):
            return values
        case _:
            return []


def _joined(by: str, what: ast.expr, constants: Mapping[str, ast.expr], file: str) -> str:
    """Several put together: what a list holds, or twice what a generator gives."""
    match what:
        case ast.GeneratorExp(elt=element) | ast.ListComp(elt=element):
            return _value(element, constants, file)
        case ast.Tuple(elts=elements) | ast.List(elts=elements):
            shown = [
                _value(one, constants, file) for one in elements if not isinstance(one, ast.Starred)
            ]
            return by.join(shown)
        case ast.Call(func=ast.Name(id="map"), args=[_, many]):
            return _value(many, constants, file)
        case _:
            return _value(what, constants, file)


if __name__ == "__main__":
    LISTING.write_text(listing(messages()), encoding="utf-8")
