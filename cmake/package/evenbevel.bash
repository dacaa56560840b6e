# bash completion for evenbevel: the program says what may come next.
_evenbevel() {
  local line
  COMPREPLY=()
  while IFS= read -r line; do
    case $line in
      :files) compopt -o default 2>/dev/null ;;
      :folders) compopt -o dirnames 2>/dev/null ;;
      *) COMPREPLY+=("${line%%$'\t'*}") ;;
    esac
  done < <("${1/#\~/$HOME}" candidates -- "${COMP_WORDS[@]:1:COMP_CWORD}" 2>/dev/null)
}
complete -F _evenbevel evenbevel
