"""Write trained weights as the network that the program loads.

usage: python -m tools.listener.ship EAR.pt [OUT.onnx]
"""

from __future__ import annotations

import argparse
from pathlib import Path

import onnx
import torch
from tools.listener.model import PLANES, Ear
from tools.listener.shape import ROWS  # noqa: F401  (the shape that answers have)
from torch import nn

SEEN_ROWS = 92
USUAL = Path("src/phrasewright/listen/hear/ear.onnx")


class Answering(nn.Module):
    """The network with answers in 0..1."""

    def __init__(self, ear: Ear) -> None:
        super().__init__()
        self.ear = ear

    def forward(self, seen: torch.Tensor) -> tuple[torch.Tensor, torch.Tensor]:
        answers, dead = self.ear(seen)
        return torch.sigmoid(answers), torch.sigmoid(dead)


def main() -> None:
    """Export, with every batch norm folded into its convolution."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("weights", type=Path)
    parser.add_argument("out", type=Path, nargs="?", default=USUAL)
    wish = parser.parse_args()
    ear = Ear()
    ear.load_state_dict(torch.load(wish.weights, map_location="cpu", weights_only=True))
    torch.onnx.export(
        Answering(ear.eval()),
        (torch.zeros(1, PLANES, 200, SEEN_ROWS),),
        str(wish.out),
        input_names=["seen"],
        output_names=["answers", "dead"],
        dynamic_axes={"seen": {2: "frames"}, "answers": {2: "frames"}, "dead": {1: "frames"}},
        opset_version=17,
        dynamo=False,
    )
    model = onnx.load(str(wish.out))
    del model.metadata_props[:]
    model.producer_name, model.producer_version, model.doc_string = "phrasewright", "", ""
    onnx.save(model, str(wish.out))
    print(f"{wish.out}: {wish.out.stat().st_size} bytes, {sum(value.numel() for value in ear.parameters())} weights")


if __name__ == "__main__":
    main()
