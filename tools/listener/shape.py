"""What the network sees and tells: the numbers that training and listening must agree on are those of the program."""

from phrasewright.listen.hear.spectrum import FRAME_S, HOP, LOWEST_ROW_MIDI, RATE_HZ, ROWS

TRIANGLE_FRAMES = 2.5  # half the width of the ramp around an onset that the network learns to draw
__all__ = ["FRAME_S", "HOP", "LOWEST_ROW_MIDI", "RATE_HZ", "ROWS", "TRIANGLE_FRAMES"]
