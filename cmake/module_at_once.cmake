# Compiles the files of a module as one: from scratch that takes a third of the time, most of which
# goes into the libraries' headers. For .ci/run; not for daily work, where one changed file should be
# one compilation.

# Names of their own that another file of the module has too.
set(evenbevel_compiled_alone
  advice/side_advice advice/choil_advice calibrate/picture card/bend card/draw edge_set/joint_result edge_set/space_curves
  edge_view/card_look edge_view/locate edge_view/quick_look edge_view/support photo/file_bytes photo/png
  record/entry_copy record/export record/report_facts record/text side_view/face_numbers
  side_view/plunge side_view/plunge_curve side_view/silhouette)
set(evenbevel_tests_compiled_alone
  calibrate/picker_test calibrate/result_test cli/edge_output_test cli/edge_poor_photo_test cli/edge_quick_look_test
  cli/edge_run cli/edge_same_photo_test cli/edge_set_command_test cli/side_command_test cli/study_command_test
  edge_view/gauge_test fit/line_test media/media_test outside/calibrate_mrcal_test
  outside/calibrate_opencv_doc_test outside/exif_samples_test outside/uncertainty_gum_test
  photo/live_test photo/read_photo_test plan/sums_test record/exchange_test report/html_test report/json_test
  report/page_in_browser_test report/picture_test report/side_fixture report/side_picture_test
  report/side_report_test report/text_test report/verdict_test)

function(evenbevel_compile_modules_at_once target)
  get_target_property(sources ${target} SOURCES)
  get_target_property(target_folder ${target} SOURCE_DIR)
  foreach(source IN LISTS sources)
    cmake_path(ABSOLUTE_PATH source BASE_DIRECTORY ${target_folder})
    cmake_path(GET source PARENT_PATH folder)
    cmake_path(GET folder FILENAME module)
    cmake_path(GET source STEM name)
    if("${module}/${name}" IN_LIST evenbevel_compiled_alone)
      continue()
    endif()
    if(module STREQUAL "report" AND name MATCHES "^(edge|side|choil|study|plan)_")
      string(APPEND module "_${CMAKE_MATCH_1}")
    endif()
    set_source_files_properties(${source} TARGET_DIRECTORY ${target} PROPERTIES UNITY_GROUP ${module})
  endforeach()
  set_target_properties(${target} PROPERTIES UNITY_BUILD ON UNITY_BUILD_MODE GROUP)
endfunction()

function(evenbevel_compile_tests_at_once target)
  get_target_property(sources ${target} SOURCES)
  get_target_property(target_folder ${target} SOURCE_DIR)
  cmake_path(GET target_folder FILENAME module)
  foreach(source IN LISTS sources)
    cmake_path(GET source STEM name)
    if("${module}/${name}" IN_LIST evenbevel_tests_compiled_alone)
      cmake_path(ABSOLUTE_PATH source BASE_DIRECTORY ${target_folder})
      set_source_files_properties(${source} TARGET_DIRECTORY ${target}
        PROPERTIES SKIP_UNITY_BUILD_INCLUSION ON)
    endif()
  endforeach()
  set_target_properties(${target} PROPERTIES UNITY_BUILD ON UNITY_BUILD_BATCH_SIZE 6)
endfunction()
