# fish completion for evenbevel: the program says what may come next.
function __evenbevel_candidates
    set -l words (commandline -opc)
    set -l typed (commandline -ct)
    for line in ($words[1] candidates -- $words[2..-1] "$typed" 2>/dev/null)
        switch $line
            case :files
                __fish_complete_path "$typed"
            case :folders
                __fish_complete_directories "$typed"
            case '*'
                echo $line
        end
    end
end
complete -c evenbevel -f -a '(__evenbevel_candidates)'
