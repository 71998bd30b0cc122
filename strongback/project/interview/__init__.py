"""The interview: questions in the order in which one walks around the machine, and the project file of the answers.

`kinds` has the five kinds of machine; one file a kind has its questions and writes its project. `dialogue` asks on a
terminal.
"""

from strongback.project.interview.dialogue import ask_all
from strongback.project.interview.kinds import KINDS, answers_file, kind_of, project_of

__all__ = ["KINDS", "answers_file", "ask_all", "kind_of", "project_of"]
