"""``phrasewright serve``: the studio in a browser."""

from __future__ import annotations

from contextlib import suppress
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from phrasewright.errors import PhrasewrightError

if TYPE_CHECKING:
    from sqlalchemy import Engine

    from phrasewright.web.guard.sharing import Sharing

HERE = "127.0.0.1"
EVERYWHERE = "0.0.0.0"
PORT = 8642


class SharingError(PhrasewrightError):
    """Options that do not go together."""

    exit_code = 2


def serve(
    folder: Annotated[Path, typer.Argument(help="Folder of the lessons; made when it is not there.")] = Path("lessons"),
    port: Annotated[int, typer.Option(help="Port on this computer.", min=1, max=65535)] = PORT,
    share: Annotated[
        bool, typer.Option("--share", help="Let others on the network in, with password and links.")
    ] = False,
    address: Annotated[
        str, typer.Option(help="With --share: serve on this address of the computer alone.")
    ] = EVERYWHERE,
    public: Annotated[
        str, typer.Option(help="With --share: the https address of a proxy in front, as https://lessons.example.org.")
    ] = "",
    certificate: Annotated[Path | None, typer.Option(help="With --share: a certificate (PEM), for https.")] = None,
    key: Annotated[Path | None, typer.Option(help="With --certificate: its key (PEM).")] = None,
    set_password: Annotated[
        bool, typer.Option("--set-password", help="Ask for a new password of the teacher, and leave.")
    ] = False,
) -> None:
    """Open the studio on a folder of lessons: make, hear, hand out and practise them in a browser.

    Only this computer can reach it, unless it is shared. What the studio saves, the other commands build.

    Example: `phrasewright serve lessons`
    """
    # heavy: loaded only when needed
    from phrasewright.course.password import has_password
    from phrasewright.web.alone import alone
    from phrasewright.web.application import create_application
    from phrasewright.web.guard.sharing import Sharing, shared_at
    from phrasewright.web.serving import bound_to, run, server_for
    from phrasewright.web.studio import open_studio

    _check(share=share, public=public, address=address, certificate=certificate, key=key)
    studio = open_studio(folder)
    if set_password or (share and not has_password(studio.engine)):
        _ask_password(studio.engine)
        if set_password:
            print("The password is set; everybody has to sign in again.")
            return
    host, sharing = HERE, Sharing()
    if share:
        host = address
        sharing = shared_at(address=address, port=port, public=public, is_secure=certificate is not None)
    with alone(studio.home), bound_to(host, port) as bound, suppress(KeyboardInterrupt):  # the way to end it
        server = server_for(
            create_application(studio, sharing),
            host=host,
            port=port,
            is_behind_proxy=bool(public),
            certificate=certificate,
            key=key,
        )
        print(_opened(folder, port, sharing), flush=True)
        run(server, bound)


def _opened(folder: Path, port: int, sharing: Sharing) -> str:
    """Where the studio is."""
    if not sharing.is_shared:
        lines = [f"The studio is open at http://{HERE}:{port}/ (lessons in {folder})."]
    else:
        lines = [f"The studio is shared (lessons in {folder}). Open one of these:"]
        lines += [f"    {origin}/" for origin in sharing.origins]
        if not sharing.origins[0].startswith("https:"):
            lines.append("This is plain http: others on the network could listen in, and browsers give no microphone.")
    return "\n".join([*lines, "End it with Ctrl-C."])


def _check(*, share: bool, public: str, address: str, certificate: Path | None, key: Path | None) -> None:
    if not share and (public or certificate or key or address != EVERYWHERE):
        raise SharingError("--address, --public, --certificate and --key belong to --share.")
    if (certificate is None) != (key is None):
        raise SharingError("--certificate and --key belong together.")
    for file in (certificate, key):
        if file is not None and not file.is_file():
            raise SharingError(f"There is no file {file}.")


def _ask_password(engine: Engine) -> None:
    """Ask twice, until the password is good enough."""
    from phrasewright.course.password import SHORTEST, PasswordError, set_password, strong_hasher

    print(f"Choose the teacher's password: at least {SHORTEST} characters.")
    while True:
        password = typer.prompt("Password", hide_input=True, confirmation_prompt="The same again")
        try:
            set_password(engine, password, hasher=strong_hasher(), now=datetime.now(UTC))
        except PasswordError as error:
            print(error)
        else:
            return
