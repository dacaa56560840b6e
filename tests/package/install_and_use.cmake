function(run)
  execute_process(COMMAND ${ARGN} RESULT_VARIABLE result OUTPUT_VARIABLE output ERROR_VARIABLE output)
  if(NOT result EQUAL 0)
    list(JOIN ARGN " " command)
    message(FATAL_ERROR "${command}\nsaid ${result}:\n${output}")
  endif()
  set(output "${output}" PARENT_SCOPE)
endfunction()

set(prefix ${SCRATCH}/prefix)
file(REMOVE_RECURSE ${SCRATCH})
run(${CMAKE_COMMAND} --install ${BUILD} --prefix ${prefix})
run(${CMAKE_COMMAND} -S ${USER} -B ${SCRATCH}/build -G ${GENERATOR}
  -D CMAKE_PREFIX_PATH=${prefix} -D CMAKE_BUILD_TYPE=${CONFIG} -D CMAKE_CXX_COMPILER=${COMPILER}
  -D CMAKE_CXX_FLAGS=${FLAGS})
run(${CMAKE_COMMAND} --build ${SCRATCH}/build)
run(${SCRATCH}/build/user)

# Table G.2 of JCGM 100:2008 gives 4.30 for two degrees of freedom.
if(NOT output MATCHES "k 4\\.30.*cards 0, png 1")
  message(FATAL_ERROR "the user program said: ${output}")
endif()
run(${prefix}/bin/evenbevel --version)
if(NOT output MATCHES "^evenbevel [0-9]")
  message(FATAL_ERROR "the installed program said: ${output}")
endif()
