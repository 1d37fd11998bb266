// Lint: correctness everywhere; inside dsp/ nothing whose last bit depends on the engine.
import tseslint from 'typescript-eslint';

const engineDependent = ['exp', 'expm1', 'log', 'log1p', 'log2', 'log10', 'pow', 'sin', 'cos', 'tan', 'asin', 'acos',
  'atan', 'atan2', 'sinh', 'cosh', 'tanh', 'asinh', 'acosh', 'atanh', 'cbrt', 'hypot', 'random'];

export default tseslint.config(
  { ignores: ['dist/**', 'node_modules/**'] },
  ...tseslint.configs.recommended,
  {
    files: ['**/*.ts', '**/*.mjs', '**/*.js'],
    rules: {
      '@typescript-eslint/no-unused-vars': ['error', { argsIgnorePattern: '^_', varsIgnorePattern: '^_' }],
      eqeqeq: 'error',
      'prefer-const': 'error',
      'no-var': 'error',
      '@typescript-eslint/no-explicit-any': 'error',
      '@typescript-eslint/no-non-null-assertion': 'off',
      '@typescript-eslint/consistent-type-imports': 'error',
    },
  },
  {
    files: ['dsp/**/*.ts'],
    rules: {
      'no-restricted-properties': ['error', ...engineDependent.map((property) => ({
        object: 'Math', property, message: 'Its last bit differs between engines: use dsp/math.',
      }))],
      'no-restricted-syntax': ['error',
        { selector: "BinaryExpression[operator='**']", message: 'Its last bit differs between engines: use dsp/math.' },
        { selector: "AssignmentExpression[operator='**=']", message: 'Its last bit differs between engines: use dsp/math.' },
        { selector: "MemberExpression[object.name='Math'][computed=true]", message: 'Name the function.' },
        { selector: "VariableDeclarator[init.name='Math']", message: 'Call Math by its name, so that the rule can see it.' },
      ],
      'no-restricted-globals': ['error', 'Date', 'performance', 'crypto', 'WebAssembly', 'setTimeout', 'console', 'process', 'Buffer', 'fetch'],
    },
  },
);
