"""The commands. Each loads only what it needs: `--version` and the plan commands never load spaCy."""

from __future__ import annotations

import argparse
import gc
import importlib
import os
import secrets
import sys

VERSION = "0.1.0"
RECORDS = {
    "log": "show, add and put right what the feed log holds",
    "handoff": "what the next carer or the nurse line needs to know",
    "week": "what was given against the plan, day by day",
    "export": "the log as CSV or JSON",
    "backup": "copy the records, checked",
    "restore": "put a backup in the place of the records",
    "check": "read the records for damage",
}
APART = {  # commands that read their own arguments
    "plan": "plan_commands",
    "actions": "action_server",
    "desk": "desk.command",
    **{name: name for name in ("serve", "listen", "wyoming")},
    **dict.fromkeys(RECORDS, "records_commands"),
}


def main(argv: list[str] | None = None) -> int:
    """Run one command. 0 answered, 2 usage or a bad plan, 3 household data unreadable."""
    argv = sys.argv[1:] if argv is None else argv
    from assistant.own_packages import overwritten
    from assistant.warm import ALLOCATED

    gc.set_threshold(ALLOCATED)
    if (fault := overwritten()) is not None:
        print(fault, file=sys.stderr)
        return 2
    if argv[:1] and argv[0] in APART:
        apart = importlib.import_module(f"assistant.channels.{APART[argv[0]]}")
        return int(apart.main(argv if argv[0] in RECORDS else argv[1:]))
    try:
        args = _parser().parse_args(argv)
    except SystemExit as left:
        return int(left.code or 0)
    try:
        code: int = args.run(args)
        sys.stdout.flush()
        return code
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0
    except KeyboardInterrupt:
        return 0


class Once(argparse.Action):
    """An option that may stand once: of two plans neither is taken silently."""

    def __call__(
        self,
        parser: argparse.ArgumentParser,
        namespace: argparse.Namespace,
        values: object,
        option_string: str | None = None,
    ) -> None:
        if getattr(namespace, self.dest, None) is not None:
            parser.error(f"argument {option_string}: not allowed twice")
        setattr(namespace, self.dest, values)


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="bagside",
        description="Answers about tube feeding at home, from the care plan. Not a doctor: in danger call for help.",
    )
    parser.add_argument("--version", action="version", version=f"bagside {VERSION}")
    commands = parser.add_subparsers(dest="command", required=True, metavar="COMMAND")
    ask = commands.add_parser("ask", help="answer one question")
    ask.add_argument("question", nargs="+")
    ask.add_argument("--now", metavar="ISO8601")
    ask.add_argument("--json", action="store_true")
    ask.set_defaults(run=_ask)
    chat = commands.add_parser("chat", help="talk in the terminal")
    chat.add_argument("--now", metavar="ISO8601")
    chat.set_defaults(run=_chat)
    sheet = commands.add_parser("sheet", help="the household's one-page sheet, to print (HTML)")
    sheet.add_argument("--page-url", metavar="URL", help="the household's own page: becomes a QR code")
    sheet.add_argument("--pdf", choices=["A4", "Letter"], help="as PDF on that paper, to the file of --out")
    sheet.set_defaults(run=_sheet)
    practise = commands.add_parser("practise", help="practise a walk-through or the pump's settings, with a trainer")
    practise.add_argument("what", metavar="GUIDE", nargs="?", help='a walk-through\'s name, or "settings"')
    practise.add_argument("--seed", type=int, default=1, metavar="N", help="which drills; the same seed, the same ones")
    practise.add_argument("--feed", metavar="NAME", help="which feed, where several are given that way")
    practise.set_defaults(run=_practise)
    for one in (sheet, practise):
        one.add_argument("--now", metavar="ISO8601")
        one.add_argument("--out", metavar="FILE", help="write the page to this file")
    for one in (ask, chat, sheet, practise):
        where = one.add_mutually_exclusive_group()
        where.add_argument("--plan", metavar="FILE", action=Once)
        where.add_argument("--home", metavar="DIR")
    replay = commands.add_parser("replay", help="play scripted conversations")
    replay.add_argument("file")
    replay.add_argument("--plan", metavar="FILE")
    replay.add_argument("--json", action="store_true")
    replay.set_defaults(run=_replay)
    heard = commands.add_parser("heard", help="show how a message is heard")
    heard.add_argument("text", nargs="+")
    heard.add_argument("--plan", metavar="FILE")
    heard.set_defaults(run=_heard)
    cards = commands.add_parser("cards", help="list or search the caution cards")
    cards.add_argument("search", nargs="*")
    cards.set_defaults(run=_cards)
    card = commands.add_parser("card", help="show one caution card whole")
    card.add_argument("name")
    card.add_argument("--plan", metavar="FILE")
    card.set_defaults(run=_card)
    knowledge = commands.add_parser("knowledge", help="check everything in knowledge/")
    knowledge.add_argument("what", choices=["check"])
    knowledge.set_defaults(run=_knowledge)
    for name, does in RECORDS.items():
        commands.add_parser(name, help=does, add_help=False)
    commands.add_parser("serve", help="the page in the browser, from this computer", add_help=False)
    commands.add_parser("actions", help="the actions for a Rasa front end, from this computer", add_help=False)
    commands.add_parser("desk", help="the nurse line's desk for many homes, behind a login", add_help=False)
    commands.add_parser("listen", help="hands free: ask aloud, hear the answer (extra: voice)", add_help=False)
    commands.add_parser("wyoming", help="serve a home voice hub by the open Wyoming protocol", add_help=False)
    commands.add_parser("plan", help="check, show, write, import or use a care plan", add_help=False)
    return parser


def _ask(args: argparse.Namespace) -> int:
    from assistant.channels import helper

    request = {
        "text": " ".join(args.question),
        "plan": os.path.abspath(args.plan) if args.plan else None,
        "home": os.path.abspath(args.home) if args.home else None,
        "now": args.now,
        "as_json": args.json,
        "request": secrets.token_hex(16),  # if the helper dies after it wrote, the second try writes nothing again
    }
    answered = None if os.environ.get("BAGSIDE_HELPER") == "off" else helper.ask(request)
    if answered is None:
        from assistant.channels.ask import answer_once

        code, out, err = answer_once(**request)
    else:
        code, out, err = answered["code"], answered["out"], answered["err"]
    if out:
        print(out)
    if err:
        print(err, file=sys.stderr)
    return code


def _chat(args: argparse.Namespace) -> int:
    from assistant.channels.chat import main as chat_main

    return chat_main(args.plan, args.home, args.now)


def _sheet(args: argparse.Namespace) -> int:
    from assistant.channels.sheet_command import main as sheet_main

    return sheet_main(args.plan, args.home, args.now, args.page_url, args.out, args.pdf)


def _practise(args: argparse.Namespace) -> int:
    from assistant.channels.practise import main as practise_main

    return practise_main(args.what, args.plan, args.home, args.now, args.seed, args.out, args.feed)


def _replay(args: argparse.Namespace) -> int:
    from assistant.channels.replay import main as replay_main

    return replay_main(args.file, args.plan, args.json)


def _heard(args: argparse.Namespace) -> int:
    from assistant.channels.heard import main as heard_main

    return heard_main(" ".join(args.text))


def _cards(args: argparse.Namespace) -> int:
    from assistant.channels.card_commands import search
    from assistant.hear.plain import readable

    return search(readable(" ".join(args.search)))


def _card(args: argparse.Namespace) -> int:
    from assistant.channels.card_commands import show

    return show(args.name, args.plan)


def _knowledge(args: argparse.Namespace) -> int:
    from assistant.channels.card_commands import check

    return check()


if __name__ == "__main__":
    sys.exit(main())
