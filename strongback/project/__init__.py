"""The only place that knows files: a project file and its tables in, frozen values out.

FORMAT.md beside this file describes every key.
"""

from strongback.project.read import FILE_NAME, Project, project_file, read, read_text

__all__ = ["FILE_NAME", "Project", "project_file", "read", "read_text"]
