"""``strongback words``"""

from __future__ import annotations

import dataclasses

import click

from strongback.cli.common import emit_json, json_option, say, subcommand, width


@subcommand("words", "strongback words", "strongback words nod")
@click.argument("word", required=False)
@json_option
def command(word: str | None, as_json: bool) -> None:
    """Two lines for each word of the trade, with a sketch where a place or a motion is meant."""
    from strongback.views.words import find, words, words_text

    chosen = words() if word is None else find(word)
    if as_json:
        emit_json("words", {"words": [dataclasses.asdict(each) for each in chosen]})
        return
    say(words_text(chosen, width()))
