# Makes the Debian package, looks into it and runs what it unpacks to.
include(${CMAKE_CURRENT_LIST_DIR}/run.cmake)

file(REMOVE_RECURSE ${SCRATCH})
run(0 ${CPACK} -G DEB --config ${BUILD}/CPackConfig.cmake -B ${SCRATCH}/made)
file(GLOB package ${SCRATCH}/made/*.deb)
get_filename_component(name "${package}" NAME)
set(output "${name}")
expect("^evenbevel_${VERSION}_[a-z0-9]+\\.deb$")

run(0 dpkg-deb --field ${package})
expect("Package: evenbevel\n")
expect("Maintainer: the authors of evenbevel ")
# Found by dpkg-shlibdeps: what is linked by name, and what the plug-in alone is linked to.
expect("Depends: .*libc6 .*libopencv-core[0-9]+.*libopencv-videoio[0-9]+.*libsqlite3-0 ")
expect("Description: camera and printed card as a gauge")

run(0 dpkg-deb --contents ${package})
foreach(file usr/bin/evenbevel usr/lib[a-z0-9/_-]*/evenbevel/media/evenbevel_media\\.so
    usr/share/doc/evenbevel/copyright usr/share/doc/evenbevel/changelog\\.gz
    usr/share/doc/evenbevel/cards/edge-a4\\.pdf usr/share/doc/evenbevel/cards/practice-letter\\.pdf
    usr/share/man/man1/evenbevel\\.1\\.gz usr/share/man/man1/evenbevel-edge\\.1\\.gz
    usr/share/man/man1/evenbevel-record-add\\.1\\.gz usr/share/bash-completion/completions/evenbevel
    usr/share/zsh/vendor-completions/_evenbevel usr/share/fish/vendor_completions\\.d/evenbevel\\.fish
    usr/share/evenbevel/report\\.schema\\.json)
  expect("root/root +[1-9][0-9]* [0-9: -]+\\./${file}\n")
endforeach()
if(output MATCHES "libevenbevel\\.a|\\.hpp|\\.\\./|/(home|root|tmp)/")
  message(FATAL_ERROR "holds more than the program: ${CMAKE_MATCH_0}\n${output}")
endif()

set(unpacked ${SCRATCH}/unpacked)
run(0 dpkg-deb --extract ${package} ${unpacked})
set(program ${unpacked}/usr/bin/evenbevel)
run(0 ${program} --version)
expect("^evenbevel ${VERSION}")
run(0 file ${program})
if(output MATCHES "not stripped")
  message(FATAL_ERROR "${output}")
endif()
# The changelog's newest version is the package's.
run(0 gzip -dc ${unpacked}/usr/share/doc/evenbevel/changelog.gz)
expect("^evenbevel \\(${VERSION}\\) ")

# Measures from another folder; a PNG needs the plug-in, found from where the program lies.
set(elsewhere ${SCRATCH}/elsewhere)
file(MAKE_DIRECTORY ${elsewhere})
set(packed ${CMAKE_COMMAND} -E chdir ${elsewhere} ${CMAKE_COMMAND} -E env
  HOME=${elsewhere} XDG_DATA_HOME=${elsewhere} XDG_CONFIG_HOME=${elsewhere} ${program})
run(1 ${packed} edge ${SAMPLES}/edge-ground-offcentre.jpg --thickness 3.4mm --tolerance 0.05mm -o out)
expect("centreline offset, mean +\\+0\\.0[0-9]+ mm.*verdict: outside")
if(NOT EXISTS ${elsewhere}/out/report.html)
  message(FATAL_ERROR "no report in ${elsewhere}/out")
endif()
run(0 ${packed} card edge -o blank.png)
run(3 ${packed} edge blank.png --thickness 3.4mm -o png)
if(output MATCHES "evenbevel_media")
  message(FATAL_ERROR "the plug-in is not found:\n${output}")
endif()

find_program(lintian lintian)
if(NOT lintian)
  message(STATUS "lintian is not installed: the package's form is not checked")
  return()
endif()
run(0 ${lintian} --allow-root --pedantic --fail-on error,warning,pedantic ${package})
