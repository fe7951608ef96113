"""The commands, one a module, each with its click command in `command`; a new module is a new command.

What a command needs beyond click and the console is imported when it runs, so that help comes at once. Its
help ends with an example, which tests/commands/test_printed_commands.py runs.
"""
