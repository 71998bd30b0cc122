"""Sketches of what a question means, in plain characters; capital letters are the distances asked for."""

from __future__ import annotations

__all__ = ["SKETCHES"]

SKETCHES = {
    "end faces": """
   tube            channel          round           WIDTH: left to right
  ________         _       _         ___            DEPTH: front to back
 |  ____  |       | |     | |      /  _  \\          WALL:  where it is sawn
 | |    | |       | |     | |     |  |_|  |
 | |____| |       | |_____| |      \\ ___ /
 |________|       |_________|
   front            front            front
""",
    "column mill": """
 seen from the right         |THROAT|
                       ______|      |
   operator           | head |======|    |  HEIGHT
      o               |______|  carriage |
     /|\\                 |   |     |column
     / \\              tool   |     |     |
              ____________________ |_____|  foot
             |_______bed_________________|
             left end is the front    BEHIND
""",
    "foot": """
 seen from above    o         o     o bolts
                      _______
                     | column|      from the WALL to the BOLT:
                     |_______|      0 if the bolts lie inside
                    o         o
""",
    "ways": """
 seen along the slide
     ________________
    |    carriage    |
    |__           ___|        dovetail: two WAYS, slanting flanks
       \\_WAY_____/ |gib|      APART: middle of one way to the other
       /  column  \\
""",
    "spindle": """
     [##]    rear bearing
      ||       |  SPAN
     [##]    front bearing
      ||       |  OVERHANG
     _||_    nose
      ||       |  OUT
      \\/     tool
""",
    "stand": """
 seen from the right    |REACH|
                     ___|     |
                    | quill   |_|  collar   |
   operator o         |       | |  post     | HEIGHT
                     tool     | |           |
                 _____________|_|__         |
                 |_____plate________|
""",
    "clamp": """
 seen from above     _____
                   /  ___  \\____
                  |  | o |  __|_|   pinch bolts
                   \\  ---  /
""",
    "round column": """
 seen from the right      | SWING / 2 |
                    ______|           |
   operator o      | head |===========O   column   HEIGHT
                     |quill           O
                   _tool______________O__
                   |__table__|___base____|
""",
    "portal": """
 seen by the operator      SPAN
            left |<------------------->| right
               __|_____________________|__
              |  |   beam  |carriage|  |  |
              |  |            tool     |  |   uprights
             _|__|______________________|_|_
""",
    "rails": """
 seen along the beam        seen from the front
   ||  rail                   [#]      [#]
  [##] carriage                |<APART>|
   ||                         [#]      [#]    LENGTH between carriages
""",
    "lathe": """
 seen by the operator
   headstock   chuck   bar       tailstock
   _________   __
  |         |=|  |=======x        <|   centre HEIGHT
  |_________|   |__|    tool           |
 ==================bed====================
  LEFT        |nose
""",
    "tool post": """
 seen from the right      ____
   operator o            |post|====  OUT
                         |____|   x  bar
""",
    "feet": """
 seen from above    o            o
                       base             INSET from the edges
                    o            o
                    front
""",
    "pull": """
     tool ------------ o pulley       jack:  spindle
                       |                       ||
                      [W] just above the floor table
""",
}
