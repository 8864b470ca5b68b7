# The commands of everyday work: `just` lists them.

_default:
    @just --list

# The board on a built-in job.
demo:
    cargo run -- demo

# Everything that needs no service.
test *FILTER:
    cargo test {{FILTER}}

# Formatting, lints and documentation.
lint:
    .ci/run format lints documentation

# Write new snapshots: read them before you commit.
snapshots *FILTER:
    INSTA_UPDATE=always BLESS=1 cargo test {{FILTER}}

# All of it, with real services (Debian; installs what it needs), or the named steps.
ci *STEPS:
    bash .ci/run {{STEPS}}

# The figures of speed, as ratios.
bench:
    python3 benches/figures.py
