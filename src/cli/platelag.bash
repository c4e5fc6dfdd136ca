# SPDX-License-Identifier: GPL-3.0-or-later
# Completion for bash. What there is to choose from is asked of the program itself, so that it is
# never another version's.
_platelag_commands() {
  "$1" --help 2> /dev/null | sed -n '/^Commands:/,/^$/s/^  \([a-z][a-z]*\)  .*/\1/p'
}

_platelag_options() {
  "$1" ${2:+"$2"} --help 2> /dev/null | grep -oE '(^|[ ,])--[a-z][a-z-]*=?' | tr -d ' ,' | sort -u
}

_platelag_choices() { # PROGRAM COMMAND OPTION: the names that an option takes, where they can be listed
  case $3 in
    --color) echo always auto never ;;
    --fault) "$1" practice --list 2> /dev/null | sed -n '/^Faults:/,/^[A-Z]/s/^  \([a-z_]*\).*/\1/p' ;;
    --layout) "$1" practice --list 2> /dev/null | sed -n '/^Layouts:/,$s/^  \([a-z_0-9]*\).*/\1/p' ;;
  esac
}

_platelag() {
  local program=${COMP_WORDS[0]} current=${COMP_WORDS[COMP_CWORD]} command='' option='' words
  [ "$COMP_CWORD" -gt 1 ] && command=${COMP_WORDS[1]}
  # bash makes words of their own of "=" and what stands behind it.
  if [ "$current" = = ]; then
    option=${COMP_WORDS[COMP_CWORD - 1]} current=
  elif [ "${COMP_WORDS[COMP_CWORD - 1]}" = = ]; then
    option=${COMP_WORDS[COMP_CWORD - 2]}
  elif [ "$COMP_CWORD" -gt 2 ]; then
    option=${COMP_WORDS[COMP_CWORD - 1]}
  fi
  words=$(_platelag_choices "$program" "$command" "$option")
  if [ -z "$words" ]; then
    case $current in
      -*) words=$(_platelag_options "$program" "$command") ;;
      *) [ -n "$command" ] || words=$(_platelag_commands "$program") ;;
    esac
  fi
  COMPREPLY=()
  [ -z "$words" ] || mapfile -t COMPREPLY < <(compgen -W "$words" -- "$current")
  [[ ${#COMPREPLY[@]} != 1 || ${COMPREPLY[0]} != *= ]] || compopt -o nospace 2> /dev/null
}
complete -o default -F _platelag platelag
