import js from "@eslint/js";

// Which names there are is known to the type checker, which sees all files at once.
export default [
  js.configs.recommended,
  { ignores: ["**/*.d.ts"] },
  {
    languageOptions: { sourceType: "script", ecmaVersion: 2023 },
    linterOptions: { reportUnusedDisableDirectives: "error" },
    rules: {
      "no-undef": "off",
      "no-unused-vars": ["error", { vars: "local", args: "after-used" }],
      "prefer-const": "error",
      "no-var": "error",
      eqeqeq: "error",
      strict: ["error", "global"],
      "no-implicit-globals": "off",
      "no-eval": "error",
      "no-implied-eval": "error",
    },
  },
];
