# evenbevel_embed_text(FILE NAME): FILE, of the present folder, becomes the text
# evenbevel::embedded::NAME in "embedded/FILE.hpp", but for its last line end. Made when it is
# configured, and again by the build when FILE has changed.
set(evenbevel_embedded_text ${CMAKE_CURRENT_LIST_DIR}/embedded_text.hpp.in)
function(evenbevel_embed_text file name)
  set(path ${CMAKE_CURRENT_SOURCE_DIR}/${file})
  set_property(DIRECTORY APPEND PROPERTY CMAKE_CONFIGURE_DEPENDS ${path})
  file(READ ${path} text)
  string(REGEX REPLACE "\n$" "" text "${text}")
  configure_file(${evenbevel_embedded_text} ${PROJECT_BINARY_DIR}/generated/embedded/${file}.hpp @ONLY)
endfunction()
