# zsh -f offers.zsh FOLDER LINE: notes in FOLDER/offers what zsh offers for a line. FOLDER holds _curewright.
zmodload zsh/zpty
zpty z zsh -f -i
zpty -w z "PS1=; fpath=($1 \$fpath); autoload -Uz compinit; compinit -u -d $1/dump"
# The words that are offered are noted; the screen is not read.
zpty -w z 'compadd() { local -a all; [[ ${@[(r)-O]} == -O || ${@[(r)-D]} == -D || ${@[(r)-A]} == -A ]] && { builtin compadd "$@"; return }; builtin compadd -A all "$@"; print -rl -- $all >> '$1/offers'; builtin compadd "$@" }'
zpty -w z 'bindkey "^X" complete-word; LISTMAX=1000; print -r up > '$1/up
for i in {1..100}; do [[ -e $1/up ]] && break; sleep 0.1; done
zpty -w -n z "$2"$'\x18'
for i in {1..50}; do [[ -s $1/offers ]] && break; sleep 0.1; done
sleep 0.3
zpty -d z
