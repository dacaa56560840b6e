# evenbevel_module(NAME
#   [USES MODULE...]        whose headers it may include, and theirs in turn: the highest are enough
#   [HEADERS FILE...]       of include/evenbevel/: for everybody, installed
#   [FOR_MODULES FILE...]   of its own folder: for the project's other modules, as "NAME/FILE"
#   [LIBRARIES LIBRARY...]
#   SOURCES FILE...)
#
# A module is a folder of src/, compiled by itself into the library. It finds its own headers, and
# those above of the modules that it uses and that these use; no others. For that each module hands
# its headers on in a folder of links. By itself it is a library too, for tests that need no more.
set(evenbevel_module_headers ${PROJECT_BINARY_DIR}/headers)
file(REMOVE_RECURSE ${evenbevel_module_headers})

function(evenbevel_module name)
  cmake_parse_arguments(PARSE_ARGV 1 arg "" "" "USES;HEADERS;FOR_MODULES;LIBRARIES;SOURCES")
  set(module evenbevel_${name})
  set(headers ${evenbevel_module_headers}/${name})
  file(MAKE_DIRECTORY ${headers}/evenbevel ${headers}/${name} ${headers}/own)
  foreach(header IN LISTS arg_HEADERS)
    file(CREATE_LINK ${PROJECT_SOURCE_DIR}/include/evenbevel/${header} ${headers}/evenbevel/${header} SYMBOLIC)
  endforeach()
  foreach(header IN LISTS arg_FOR_MODULES)
    file(CREATE_LINK ${CMAKE_CURRENT_SOURCE_DIR}/${header} ${headers}/${name}/${header} SYMBOLIC)
  endforeach()
  file(CREATE_LINK ${CMAKE_CURRENT_SOURCE_DIR} ${headers}/own/${name} SYMBOLIC)
  list(TRANSFORM arg_USES PREPEND evenbevel_)

  add_library(${module} STATIC EXCLUDE_FROM_ALL ${arg_SOURCES})
  target_compile_features(${module} PUBLIC cxx_std_20)
  target_include_directories(${module} PUBLIC ${headers} PRIVATE ${headers}/own ${PROJECT_BINARY_DIR}/generated)
  target_include_directories(${module} SYSTEM PUBLIC ${OpenCV_INCLUDE_DIRS})
  target_link_libraries(${module} PUBLIC ${arg_USES} Eigen3::Eigen PRIVATE ${arg_LIBRARIES} evenbevel_warnings)

  target_sources(evenbevel PRIVATE $<TARGET_OBJECTS:${module}>)
  foreach(library IN LISTS arg_LIBRARIES)
    target_link_libraries(evenbevel PRIVATE ${library})
  endforeach()
endfunction()
