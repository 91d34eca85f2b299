"""`python -m intake.server`: what the tests and the benchmark start."""

from intake.server.run import main

if __name__ == "__main__":
    main()
