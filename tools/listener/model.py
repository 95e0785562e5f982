"""The network: harmonics brought together, then looked at along time.

Two small convolutions over (time, semitone); the planes of the harmonics of every row laid on top of each other (two
octaves below to three above); the mean over all rows added, which tells strokes from hum; five residual convolutions
that reach ever further in time, two of them also to the rows beside: each answer sees 0.36 s to either side. All rows
share all weights, so that what is learnt of one pitch holds for every other.
"""

from __future__ import annotations

import torch
from tools.listener.shape import ROWS
from torch import nn

HARMONICS = (-12, 0, 12, 19, 24, 28, 31, 34, 36)  # semitones from a row: half, 1, 2, 3 ... 8 times its frequency
PLANES, ANSWERS = 9, 4
LAYERS = ((1, 3), (2, 1), (4, 3), (8, 1), (12, 1))  # frames from tap to tap, rows seen


class Ear(nn.Module):
    """float (batch, 9, frames, 92) in; logits (batch, 4, frames, 64) and (batch, frames) out."""

    def __init__(self, first: int = 16, wide: int = 24) -> None:
        super().__init__()
        self.touch = nn.Sequential(nn.Conv2d(PLANES, first, 3, padding=1, bias=False), nn.BatchNorm2d(first), nn.ReLU())
        self.look = nn.Sequential(nn.Conv2d(first, first, 3, padding=1, bias=False), nn.BatchNorm2d(first), nn.ReLU())
        self.gather = nn.Sequential(nn.Conv2d(first * len(HARMONICS), wide, 1, bias=False), nn.BatchNorm2d(wide))
        self.whole = nn.Conv2d(wide, wide, 1)
        self.along = nn.ModuleList(
            nn.Sequential(
                nn.Conv2d(wide, wide, (3, tall), padding=(far, tall // 2), dilation=(far, 1), bias=False),
                nn.BatchNorm2d(wide),
            )
            for far, tall in LAYERS
        )
        self.answer = nn.Conv2d(wide, ANSWERS, 1)
        self.dead = nn.Conv2d(2 * wide, 1, 1)
        nn.init.constant_(self.answer.bias, -4.0)

    def forward(self, seen: torch.Tensor) -> tuple[torch.Tensor, torch.Tensor]:
        seen = self.look(self.touch(seen))
        wider = nn.functional.pad(seen, (-HARMONICS[0], HARMONICS[-1] + ROWS - seen.shape[-1]))
        begin = -HARMONICS[0]
        stacked = torch.cat([wider[..., begin + up : begin + up + ROWS] for up in HARMONICS], 1)
        rows = self.gather(stacked)
        rows = torch.relu(rows + self.whole(rows.mean(-1, keepdim=True)))
        for layer in self.along:
            rows = torch.relu(layer(rows) + rows)
        both = torch.cat([rows.mean(-1, keepdim=True), rows.amax(-1, keepdim=True)], 1)
        return self.answer(rows), self.dead(both)[:, 0, :, 0]
