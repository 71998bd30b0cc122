"""The questions: one module each. What is asked of (a project, its path, a machine) and options in, one answer out.

A command is a call of one of these and a print; `import strongback as sb` offers the same calls.
"""
