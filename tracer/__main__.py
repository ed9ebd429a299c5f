"""`python -m tracer`."""

from tracer.commands import main

if __name__ == "__main__":
    main()
