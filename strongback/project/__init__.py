"""The only place that knows files: a project file and its tables in, frozen values out.

docs/file.md describes every key.
"""

from strongback.project.atomic import write_bytes, write_text
from strongback.project.read import FILE_NAME, Project, demo_folder, project_file, read, read_text
from strongback.project.rewrite import with_joint_stiffness
from strongback.project.starter import copy_demo, new_project
from strongback.project.write import write_project

__all__ = [
    "FILE_NAME",
    "Project",
    "copy_demo",
    "demo_folder",
    "new_project",
    "project_file",
    "read",
    "read_text",
    "with_joint_stiffness",
    "write_bytes",
    "write_project",
    "write_text",
]
