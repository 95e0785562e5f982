"""Train the listening network on takes made on the way.

usage: python -m tools.listener.train FOLDER OUT [--minutes 9] [--workers 15] [--modelled 90] [--held-out]

FOLDER: what ``gather`` wrote. Workers make takes without end into a pool; the network trains on the pool, each take
some times at another level. With --held-out a second network is trained beside it that never hears the recorded
notes, for an honest figure on guitars nobody trained on. Uses a GPU where there is one. Seeds are fixed, but takes
arrive in the order the workers finish, so two runs differ a little.
"""

from __future__ import annotations

import argparse
import math
import os
import time
from pathlib import Path
from threading import Lock, Thread

import numpy as np
import torch
from tools.listener.model import Ear
from tools.listener.shape import HOP, RATE_HZ
from tools.listener.takes import FRAMES, LENGTH_S
from tools.listener.workshop import open_workshop
from torch import multiprocessing, nn

from phrasewright.listen.hear.spectrum import DB_MIDDLE, DB_SPAN, FLOOR, SEEN_ROWS, WINDOWS, bank, hann, levelled

BATCH, POOL = 64, 6000
HIGHEST_RATE, WARM_UP = 4e-3, 0.04
KEEP = 0.999  # of the running mean of the weights
LEVEL_DB = 6.0


def main() -> None:
    """Train for some minutes and save the mean weights."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("folder", type=Path)
    parser.add_argument("out", type=Path)
    parser.add_argument("--minutes", type=float, default=9.0)
    parser.add_argument("--workers", type=int, default=15)
    parser.add_argument("--modelled", type=int, default=90)
    parser.add_argument("--seed", type=int, default=11)
    parser.add_argument("--held-out", action="store_true")
    wish = parser.parse_args()
    begun = time.monotonic()
    torch.manual_seed(wish.seed)
    device = torch.device("cuda" if torch.cuda.is_available() else "cpu")
    workshop = open_workshop(wish.folder, modelled=wish.modelled, seed=wish.seed, workers=max(wish.workers, 1))
    print(f"workshop open after {time.monotonic() - begun:.0f} s on {device}", flush=True)
    pool = Pool(device)
    workers = start_workers(workshop, wish.workers, wish.seed, pool)
    students = [Student(device, "ear")]
    if wish.held_out:
        students.append(Student(device, "ear_held_out"))
    eyes = Eyes(device)
    while pool.filled < 40 * wish.workers:
        time.sleep(0.2)
    step, seconds = 0, wish.minutes * 60
    while (gone := (time.monotonic() - begun) / seconds) < 1.0:
        for student in students:
            chosen = pool.choose(without_recorded=student.name == "ear_held_out")
            student.step(eyes, chosen, gone)
        step += 1
        if step % 100 == 0:
            losses = ", ".join(f"{student.name} {student.told()}" for student in students)
            print(f"{gone * 100:3.0f} % step {step} takes {pool.made}: {losses}", flush=True)
    wish.out.mkdir(parents=True, exist_ok=True)
    for student in students:
        torch.save({name: value.cpu() for name, value in student.mean.items()}, wish.out / f"{student.name}.pt")
    for worker in workers:
        worker.terminate()
    print(f"{step} steps on {pool.made} takes of {LENGTH_S:g} s", flush=True)
    os._exit(0)  # the feeding thread waits on a queue that is gone


class Pool:
    """The newest takes, on the device."""

    def __init__(self, device: torch.device) -> None:
        count = POOL if device.type == "cuda" else 800
        self.audio = torch.zeros((count, int(LENGTH_S * RATE_HZ)), dtype=torch.float16, device=device)
        self.planes = torch.zeros((count, 4, FRAMES, 64), dtype=torch.uint8, device=device)
        self.dead = torch.zeros((count, FRAMES), dtype=torch.uint8, device=device)
        self.recorded = torch.zeros(count, dtype=torch.bool)
        self.made, self.lock = 0, Lock()

    @property
    def filled(self) -> int:
        return min(self.made, len(self.audio))

    def put(self, audio: torch.Tensor, planes: torch.Tensor, dead: torch.Tensor, recorded: bool) -> None:
        place = self.made % len(self.audio)
        with self.lock:
            self.audio[place].copy_(audio, non_blocking=True)
            self.planes[place].copy_(planes, non_blocking=True)
            self.dead[place].copy_(dead, non_blocking=True)
            self.recorded[place] = recorded
            self.made += 1

    def choose(self, *, without_recorded: bool) -> tuple[torch.Tensor, torch.Tensor, torch.Tensor]:
        with self.lock:
            usable = torch.arange(self.filled)
            if without_recorded:
                usable = usable[~self.recorded[: self.filled]]
            places = usable[torch.randint(len(usable), (BATCH,))].to(self.audio.device)
            return self.audio[places], self.planes[places], self.dead[places]


def start_workers(workshop, how_many: int, seed: int, pool: Pool):
    """Processes that make takes, and a thread that brings them to the pool."""
    context = multiprocessing.get_context("fork")
    queue = context.Queue(maxsize=4 * how_many)
    workers = [
        context.Process(target=_make, args=(workshop, seed, number, queue), daemon=True) for number in range(how_many)
    ]
    for worker in workers:
        worker.start()

    def feed() -> None:
        while True:
            for audio, planes, dead, recorded in queue.get():
                pool.put(torch.from_numpy(audio), torch.from_numpy(planes), torch.from_numpy(dead), recorded)

    Thread(target=feed, daemon=True).start()
    return workers


def _make(workshop, seed: int, number: int, queue) -> None:
    torch.set_num_threads(1)
    rng = np.random.default_rng((seed, number))
    while True:
        made = []
        for _ in range(4):
            audio, planes, dead, name = workshop.take(rng)
            made.append((levelled(audio).astype(np.float16), planes, dead, name.startswith("recorded")))
        queue.put(made)


class Eyes:
    """The program's own spectra, on the device. Must equal ``spectrum.spectra``: a test says so."""

    def __init__(self, device: torch.device) -> None:
        self.windows = [
            (
                window,
                torch.from_numpy(hann(window)).to(device),
                torch.from_numpy(bank(window).toarray().T.copy()).to(device),
            )
            for window in WINDOWS
        ]

    def see(self, audio: torch.Tensor) -> torch.Tensor:
        planes = []
        for window, shape, weights in self.windows:
            padded = nn.functional.pad(audio, (window // 2, window // 2))
            frames = padded.unfold(-1, window, HOP)[:, :FRAMES]
            amplitudes = torch.fft.rfft(frames * shape).abs() @ weights
            levels = (20 * torch.log10(amplitudes + FLOOR) - DB_MIDDLE) / DB_SPAN
            planes.append(levels.reshape(*levels.shape[:2], SEEN_ROWS, 3).permute(0, 3, 1, 2))
        return torch.cat(planes, 1)


class Student:
    """A network that learns, and the running mean of its weights."""

    def __init__(self, device: torch.device, name: str) -> None:
        self.name = name
        self.ear = Ear().to(device).to(memory_format=torch.channels_last)
        self.optimizer = torch.optim.AdamW(self.ear.parameters(), lr=HIGHEST_RATE, weight_decay=1e-4)
        self.mean = {name: value.detach().clone() for name, value in self.ear.state_dict().items()}
        self.losses: list[torch.Tensor] = []
        self.steps = 0

    def step(self, eyes: Eyes, chosen: tuple[torch.Tensor, ...], gone: float) -> None:
        audio, planes, dead = chosen
        rate = HIGHEST_RATE * min(gone / WARM_UP, 1.0) * (0.5 + 0.5 * math.cos(math.pi * min(gone, 1.0)))
        for group in self.optimizer.param_groups:
            group["lr"] = rate + 1e-6
        gains = 10 ** ((torch.rand(len(audio), 1, device=audio.device) * 2 - 1) * LEVEL_DB / 20)
        with torch.no_grad():
            seen = eyes.see(audio.float() * gains)
        with torch.autocast(audio.device.type, dtype=torch.bfloat16, enabled=audio.is_cuda):
            answers, dead_answer = self.ear(seen.to(memory_format=torch.channels_last))
        loss = loss_of(answers.float(), dead_answer.float(), planes.float() / 255, dead.float() / 255)
        self.optimizer.zero_grad(set_to_none=True)
        loss.sum().backward()
        nn.utils.clip_grad_norm_(self.ear.parameters(), 1.0)
        self.optimizer.step()
        self.steps += 1
        keep = min(KEEP, self.steps / (self.steps + 20))
        with torch.no_grad():
            for name, value in self.ear.state_dict().items():
                if value.dtype.is_floating_point:
                    self.mean[name].lerp_(value, 1 - keep)
                else:
                    self.mean[name].copy_(value)
        self.losses.append(loss.detach())

    def told(self) -> str:
        recent = torch.stack(self.losses[-100:]).mean(0).tolist()
        self.losses = self.losses[-100:]
        return " ".join(f"{value:.4f}" for value in recent)


def loss_of(answers: torch.Tensor, dead_answer: torch.Tensor, planes: torch.Tensor, dead: torch.Tensor) -> torch.Tensor:
    """Cross-entropies a frame: onset, sounds, end, soft given an onset, dead stroke."""
    cross = nn.functional.binary_cross_entropy_with_logits
    per_frame = answers.shape[0] * answers.shape[2]
    heavier = 1.0 + 2.0 * planes
    onset = cross(answers[:, 0], planes[:, 0], weight=heavier[:, 0], reduction="sum") / per_frame
    sounds = cross(answers[:, 1], planes[:, 1], reduction="sum") / per_frame
    end = cross(answers[:, 2], planes[:, 2], reduction="sum") / per_frame
    share = planes[:, 3] / planes[:, 0].clamp_min(1e-3)
    soft = cross(answers[:, 3], share.clamp(0, 1), weight=planes[:, 0], reduction="sum") / per_frame
    stroke = cross(dead_answer, dead, reduction="sum") / per_frame
    return torch.stack([onset, 0.5 * sounds, 0.5 * end, 0.5 * soft, 0.5 * stroke])


if __name__ == "__main__":
    main()
