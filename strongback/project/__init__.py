"""The only place that knows files: a project file and its tables in, frozen values out."""
