"""`python -m daq` is `jbridge`."""

from daq.cli.app import main

if __name__ == "__main__":
    main()
