include(CMakePackageConfigHelpers)

set(package_dir ${CMAKE_INSTALL_LIBDIR}/cmake/evenbevel)
install(TARGETS evenbevel EXPORT evenbevelTargets
  ARCHIVE DESTINATION ${CMAKE_INSTALL_LIBDIR} LIBRARY DESTINATION ${CMAKE_INSTALL_LIBDIR})
install(DIRECTORY include/evenbevel DESTINATION ${CMAKE_INSTALL_INCLUDEDIR})
install(FILES LICENSE DESTINATION ${CMAKE_INSTALL_DOCDIR})
install(FILES src/statement/report.schema.json DESTINATION ${CMAKE_INSTALL_DATADIR}/evenbevel COMPONENT program)
install(EXPORT evenbevelTargets NAMESPACE evenbevel:: DESTINATION ${package_dir})
configure_package_config_file(cmake/evenbevelConfig.cmake.in generated/evenbevelConfig.cmake
  INSTALL_DESTINATION ${package_dir} PATH_VARS EVENBEVEL_PLUGIN_DIR)
write_basic_package_version_file(generated/evenbevelConfigVersion.cmake COMPATIBILITY SameMinorVersion)
install(FILES ${PROJECT_BINARY_DIR}/generated/evenbevelConfig.cmake
              ${PROJECT_BINARY_DIR}/generated/evenbevelConfigVersion.cmake
  DESTINATION ${package_dir})
