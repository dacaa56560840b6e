include(${CMAKE_CURRENT_LIST_DIR}/run.cmake)

set(prefix ${SCRATCH}/prefix)
file(REMOVE_RECURSE ${SCRATCH})
run(0 ${CMAKE_COMMAND} --install ${BUILD} --prefix ${prefix})
run(0 ${CMAKE_COMMAND} -S ${USER} -B ${SCRATCH}/build -G ${GENERATOR}
  -D CMAKE_PREFIX_PATH=${prefix} -D CMAKE_BUILD_TYPE=${CONFIG} -D CMAKE_CXX_COMPILER=${COMPILER}
  -D CMAKE_CXX_FLAGS=${FLAGS})
run(0 ${CMAKE_COMMAND} --build ${SCRATCH}/build)
set(blank ${SCRATCH}/blank.png)
run(0 ${SCRATCH}/build/user ${blank})
# Table G.2 of JCGM 100:2008 gives 4.30 for two degrees of freedom.
expect("k 4\\.30.*cards 0, png 1")

set(program ${prefix}/bin/evenbevel)
run(0 ${program} --version)
expect("^evenbevel [0-9]")

# A PNG is read by the plug-in, found also when the program is started by its bare name. When the
# installed one is gone, the build's own must not stand in (one installed earlier may: INSTALLED).
run(3 ${CMAKE_COMMAND} -E env PATH=${prefix}/bin evenbevel edge ${blank} --thickness 3.4mm -o ${SCRATCH}/out)
expect("card")
if(EXISTS ${INSTALLED})
  return()
endif()
file(GLOB_RECURSE plugin ${prefix}/evenbevel_media.so)
file(REMOVE ${plugin})
run(3 ${program} edge ${blank} --thickness 3.4mm -o ${SCRATCH}/out)
expect("evenbevel_media\\.so, is in none of these folders: ${prefix}/bin, ")
