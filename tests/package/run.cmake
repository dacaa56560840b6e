# run(RESULT COMMAND...): its output, of both streams, is in `output`; another result is an error.
function(run expected_result)
  execute_process(COMMAND ${ARGN} RESULT_VARIABLE result OUTPUT_VARIABLE output ERROR_VARIABLE output)
  if(NOT result EQUAL expected_result)
    list(JOIN ARGN " " command)
    message(FATAL_ERROR "${command}\nsaid ${result}:\n${output}")
  endif()
  set(output "${output}" PARENT_SCOPE)
endfunction()

# expect(PATTERN): in what the last command said.
function(expect pattern)
  if(NOT output MATCHES "${pattern}")
    message(FATAL_ERROR "expected: ${pattern}\nfound: ${output}")
  endif()
endfunction()
