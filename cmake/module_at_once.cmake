# Compiles the files of a module as one: from scratch that takes a third of the time, most of which
# goes into the libraries' headers. For .ci/run; not for daily work, where one changed file should be
# one compilation.

# Names of their own that another file of the module has too.
set(evenbevel_compiled_alone
  advice/side_advice advice/choil_advice calibrate/picture card/bend card/draw edge_set/joint_result edge_set/space_curves
  edge_view/card_look edge_view/locate edge_view/quick_look edge_view/support photo/file_bytes photo/png side_view/face_numbers
  side_view/plunge side_view/plunge_curve side_view/silhouette)

function(evenbevel_compile_modules_at_once target)
  get_target_property(sources ${target} SOURCES)
  foreach(source IN LISTS sources)
    cmake_path(GET source PARENT_PATH folder)
    cmake_path(GET folder FILENAME module)
    cmake_path(GET source STEM name)
    if(module STREQUAL "record" OR "${module}/${name}" IN_LIST evenbevel_compiled_alone)
      continue()
    endif()
    if(module STREQUAL "report" AND name MATCHES "^(edge|side|choil|study|plan)_")
      string(APPEND module "_${CMAKE_MATCH_1}")
    endif()
    set_source_files_properties(${source} TARGET_DIRECTORY ${target} PROPERTIES UNITY_GROUP ${module})
  endforeach()
  set_target_properties(${target} PROPERTIES UNITY_BUILD ON UNITY_BUILD_MODE GROUP)
endfunction()
