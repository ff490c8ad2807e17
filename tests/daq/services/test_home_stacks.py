"""Block sets and stacks in the home folder."""

from pathlib import Path

import pytest

from daq.errors import SettingsError
from daq.services.home import load_block_set, load_stack, save_stack, saved_stack

OWN = 'schema = 1\nunit = "mm"\n[[block]]\nnominal = "10 mm"\n'
STACK = """schema = 1
size = "50 mm"
certificate = "C"
certificate_due = 2027-01-01
[[block]]
nominal = "50 mm"
deviation = "+0.2 um"
uncertainty = "0.1 um"
"""


def put(path: Path, text: str) -> Path:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(text, encoding="utf-8")
    return path


def test_a_saved_stack_is_its_certified_size(tmp_path: Path) -> None:
    put(tmp_path / "stacks" / "m.toml", STACK)
    assert saved_stack("m", tmp_path) == "50.0002 mm"
    found = load_stack("m", tmp_path)
    assert found is not None
    assert (found[0].name, str(found[0].nominal), found[1]) == ("m", "50 mm", STACK)
    assert load_stack("other", tmp_path) is None
    assert load_stack("../stacks/m", tmp_path) is None


def test_without_a_set_of_the_shop_the_shipped_one_of_the_unit_is_used(tmp_path: Path) -> None:
    assert load_block_set(None, "mm", tmp_path).name == "M112"
    assert load_block_set(None, "in", tmp_path).name == "inch-81"


def test_the_shops_only_set_of_a_unit_goes_before_the_shipped_one(tmp_path: Path) -> None:
    put(tmp_path / "blocks" / "bench.toml", OWN)
    assert load_block_set(None, "mm", tmp_path).name == "bench"
    assert load_block_set(None, "in", tmp_path).name == "inch-81"
    assert load_block_set("M88", "mm", tmp_path).name == "M88"


def test_with_two_sets_of_a_unit_the_shop_is_asked_which(tmp_path: Path) -> None:
    put(tmp_path / "blocks" / "bench.toml", OWN)
    put(tmp_path / "blocks" / "store.toml", OWN)
    with pytest.raises(SettingsError, match=r"holds bench, store: say --set NAME"):
        load_block_set(None, "mm", tmp_path)
    assert load_block_set("store", "mm", tmp_path).name == "store"


def test_a_set_may_be_a_file_anywhere(tmp_path: Path) -> None:
    path = put(tmp_path / "else where" / "x.toml", 'schema = 1\nlike = "M47"\n')
    assert len(load_block_set(str(path), "mm", tmp_path).blocks) == 47


@pytest.mark.parametrize("word", ["M99", "", "..", "a\x00b", "a/\x00b", "-x"])
def test_an_unknown_set_names_the_shipped_ones(word: str, tmp_path: Path) -> None:
    with pytest.raises(SettingsError, match=r"inch-81|cannot be read"):
        load_block_set(word, "mm", tmp_path)


def test_a_bad_set_of_the_shop_is_refused_naming_its_file(tmp_path: Path) -> None:
    path = put(tmp_path / "blocks" / "bench.toml", 'schema = 1\nunit = "mm"\n')
    with pytest.raises(SettingsError, match="an empty block set") as caught:
        load_block_set(None, "mm", tmp_path)
    assert str(path) in str(caught.value)


def test_a_stack_is_saved_whole_and_not_over_another(tmp_path: Path) -> None:
    path = save_stack("m", STACK, tmp_path, replace=False)
    assert path.read_text(encoding="utf-8") == STACK
    with pytest.raises(SettingsError, match="say --replace"):
        save_stack("m", "other", tmp_path, replace=False)
    assert path.read_text(encoding="utf-8") == STACK
    save_stack("m", STACK + "\n", tmp_path, replace=True)
    assert path.read_text(encoding="utf-8") == STACK + "\n"
    assert [one.name for one in path.parent.iterdir()] == ["m.toml"]


@pytest.mark.parametrize("name", ["", "..", "a/b", "-x", "60mm", "2.361in", "a" * 81, "x\n"])
def test_a_stack_is_not_saved_under_a_name_that_could_not_be_called(
    name: str, tmp_path: Path
) -> None:
    with pytest.raises(SettingsError, match="cannot be called"):
        save_stack(name, STACK, tmp_path, replace=True)
    assert list(tmp_path.iterdir()) == []
