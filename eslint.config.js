import tseslint from 'typescript-eslint';

export default tseslint.config(
  { ignores: ['dist/', '.accuracy/', 'node_modules/', 'coverage/', 'src/calibration/data/'] },
  {
    files: ['**/*.ts'],
    extends: [...tseslint.configs.strictTypeChecked],
    languageOptions: { parserOptions: { projectService: true, tsconfigRootDir: import.meta.dirname } },
    rules: {
      // Typed arrays: noUncheckedIndexedAccess makes every read possibly undefined, and the index is the proof.
      '@typescript-eslint/no-non-null-assertion': 'off',
      '@typescript-eslint/no-unnecessary-condition': ['error', { allowConstantLoopConditions: true }],
    },
  },
);
