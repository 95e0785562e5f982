"""``phrasewright serve``: the studio in a browser."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

HERE = "127.0.0.1"
PORT = 8642


def serve(
    folder: Annotated[Path, typer.Argument(help="Folder of the lessons; made when it is not there.")] = Path("lessons"),
    port: Annotated[int, typer.Option(help="Port on this computer.", min=1, max=65535)] = PORT,
) -> None:
    """Open the studio on a folder of lessons: make, hear, hand out and practise them in a browser.

    Only this computer can reach it. What the studio saves, the other commands build.

    Example: `phrasewright serve lessons`
    """
    from phrasewright.web.alone import alone  # heavy, as what follows: loaded only when needed
    from phrasewright.web.application import create_application
    from phrasewright.web.running import run_studio
    from phrasewright.web.studio import open_studio

    studio = open_studio(folder)
    with alone(studio.home):
        application = create_application(studio)
        print(f"The studio is open at http://{HERE}:{port}/ (lessons in {folder}). End it with Ctrl-C.")
        run_studio(application, host=HERE, port=port)
