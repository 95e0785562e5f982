"""Files of notes made elsewhere: tables, MIDI, MusicXML, read as timed notes."""
