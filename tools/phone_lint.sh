#!/bin/sh
# Stands in the compiler's place for our own rooms: lints those that have code for phones alone, which no other stage
# sees, and passes the others on. Cargo calls it with the compiler first.
case " $* " in
    *" --crate-name phone "*) exec "$PHONE_LINTER" "$@" ;;
    *) exec "$@" ;;
esac
